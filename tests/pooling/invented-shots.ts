/** Invented shots as rows, from a seeded generator. */
import { variableNames } from '../../shared/quantities.ts';
import { type ShotRow, uncertainNames } from '../../src/pooling/columns.ts';

/** Uniform numbers in [-1, 1). */
export function seededUniform(seed: number): () => number {
  let state = seed % 2147483647;
  return () => {
    state = (state * 48271) % 2147483647;
    return (2 * state) / 2147483647 - 1;
  };
}

export function inventedRow(
  lab: string,
  ordinal: number,
  variables: Partial<ShotRow['variables']>,
  more: Partial<Omit<ShotRow, 'variables'>> = {},
): ShotRow {
  return {
    lab,
    ordinal,
    label: `shot ${ordinal}`,
    rig: 'main@1',
    cue: 'house@1',
    table: 'club@1',
    straight: true,
    player: 'P1',
    strokeStyle: null,
    grip: null,
    sessionDate: '2026-01-01',
    flags: 0,
    fromTrack: true,
    receivedAt: 1_767_225_600_000 + ordinal,
    variables: nulls(variableNames, variables),
    uncertainties: nulls(uncertainNames, {}),
    covarianceSpeedAcceleration: null,
    ...more,
  };
}

function nulls<Name extends string>(
  names: readonly Name[],
  given: Partial<Record<Name, number | null>>,
): Record<Name, number | null> {
  return Object.fromEntries(names.map((name) => [name, given[name] ?? null])) as Record<Name, number | null>;
}

export function uncertainties(given: Partial<ShotRow['uncertainties']>): ShotRow['uncertainties'] {
  return nulls(uncertainNames, given);
}

/**
 * Shots in which contact time falls by 0.1 ms for each m/s of cue speed and knows nothing of tip offset or
 * acceleration; labs differ in level and in the speeds they play.
 */
export function inventedShots(labs: readonly string[], shotsPerLab: number, seed = 1): ShotRow[] {
  const next = seededUniform(seed);
  return labs.flatMap((lab, place) =>
    Array.from({ length: shotsPerLab }, (_, ordinal) => {
      const cueSpeed = 2.5 + 0.3 * place + next();
      return inventedRow(
        lab,
        ordinal + 1,
        {
          cueSpeed,
          cueAcceleration: 10 * next(),
          tipOffset: 0.4 * next(),
          contactTime: 1.4e-3 - 1e-4 * cueSpeed + 5e-5 * place + 2e-5 * next(),
        },
        {
          uncertainties: uncertainties({ cueSpeed: 0.02, cueAcceleration: 1, contactTime: 1e-5, tipOffset: 0.005 }),
          covarianceSpeedAcceleration: 0.0194,
        },
      );
    }),
  );
}

/** The same items in another order. */
export function shuffled<Item>(items: readonly Item[], seed: number): Item[] {
  const next = seededUniform(seed);
  return items
    .map((item) => ({ item, at: next() }))
    .sort((first, second) => first.at - second.at)
    .map(({ item }) => item);
}
