/** Invented shots with tracks of any number of points, as a lab would send them; every check accepts them. */
import { cueContentSchema, rigContentSchema, tableContentSchema } from '../../../shared/gear.ts';
import type { ShotInput } from '../../../shared/shot.ts';
import type { UsedGear } from '../../../src/derivation/gear.ts';
import { seededUniform } from './seeded-uniform.ts';

const captureRate = 10_000;
/** Points after first contact; all others lie before it. */
const pointsAfter = 20;
const contactFrames = 11;

export const gearNames = { rigs: 'main', cues: 'house', tables: 'club' } as const;
export const rigContent = {
  captureRate: { value: captureRate, unit: 'frames/s' },
  exposure: { value: 20, unit: 'us' },
  exposureCriterion: 'anyPartOfExposure',
  trimMeaning: 'undecided',
} as const;
export const cueContent = {
  mass: { value: 19, unit: 'oz' },
  tipRadius: 'nickel',
  shaftRadius: { value: 6.3, unit: 'mm' },
  tipDiameter: { value: 13, unit: 'mm' },
} as const;
export const tableContent = { discipline: 'pool', ballDiameter: { value: 57.15, unit: 'mm' } } as const;

export const usedGear: UsedGear = {
  rig: { name: gearNames.rigs, version: 1, content: rigContentSchema.parse(rigContent) },
  cue: { name: gearNames.cues, version: 1, content: cueContentSchema.parse(cueContent) },
  table: { name: gearNames.tables, version: 1, content: tableContentSchema.parse(tableContent) },
};

/** One shot; the same number gives the same shot, another number another track. Speeds 2 to 5 m/s. */
export function trackShot(label: string, number: number, points: number): ShotInput {
  const uniform = seededUniform(number);
  const speed = 2 + 3 * uniform();
  const acceleration = 40 * (uniform() - 0.5);
  const closedFrame = points - pointsAfter;
  const positions = Array.from({ length: points }, (_, frame) => {
    const time = (frame - (closedFrame - 0.5)) / captureRate;
    const position = time > 0 ? 0.6 * speed * time : speed * time + 0.5 * acceleration * time * time;
    return round(1000 * position + 0.04 * (uniform() - 0.5), 4);
  });
  return {
    label,
    rig: gearNames.rigs,
    cue: gearNames.cues,
    table: gearNames.tables,
    player: `P${number % 20}`,
    sessionDate: '2026-03-02',
    strokeStyle: 'long',
    cueTrack: { unit: 'mm', positions, firstFrame: 0 },
    contact: { closedFrame, openFrame: closedFrame + contactFrames, trimmedStart: 1, trimmedEnd: 0 },
    tipHeight: { method: 'shaftTopEdge', topEdge: { value: round(-8 + 8 * uniform(), 2), unit: 'mm' } },
    objectBallDistance: { value: 0.8, unit: 'm' },
    outcome: { distance: { value: round(-40 * uniform(), 1), unit: 'cm' }, ended: 'atRest' },
  };
}

/** Lines of NDJSON, each with its line end, for shots numbered from `first`. */
export function* trackLines(first: number, count: number, points: number): Generator<string> {
  for (let number = first; number < first + count; number += 1) {
    yield `${JSON.stringify(trackShot(`shot ${number}`, number, points))}\n`;
  }
}

function round(value: number, decimals: number): number {
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale;
}
