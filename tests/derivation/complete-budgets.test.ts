/** From method version 2 on every derived number has a budget that adds up, whatever shot and gear. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BudgetLine, derivedShotSchema, type Estimate } from '../../shared/derivation.ts';
import type { UncertaintyParts } from '../../shared/estimate.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { explainDerivation } from '../../src/derivation/explain/explain-derivation.ts';
import { methodOne, methodTwo } from '../../src/derivation/method-choices.ts';
import { goldenShots } from '../golden/golden-shots.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

const summation = 1e-9;
type Line = Pick<BudgetLine, 'contribution' | 'sensitivity' | 'standardUncertainty'>;

function expectAddsUp(lines: readonly Line[], standardUncertainty: number, name: string): void {
  let variance = 0;
  for (const line of lines) {
    expect(
      Math.abs(line.contribution - Math.abs(line.sensitivity) * line.standardUncertainty),
      name,
    ).toBeLessThanOrEqual(summation * line.contribution);
    variance += line.contribution * line.contribution;
  }
  expectRelative(Math.sqrt(variance), standardUncertainty, summation, name);
}

function expectPartsAddUp(parts: UncertaintyParts | undefined, standardUncertainty: number, name: string): void {
  const { shot, rig, cue, table } = parts ?? { shot: Number.NaN, rig: 0, cue: 0, table: 0 };
  expectRelative(Math.sqrt(shot * shot + rig * rig + cue * cue + table * table), standardUncertainty, summation, name);
}

/** Uncertainty, relative to the value; below 1e-12 of it the sums carry rounding alone. */
const matters = ({ value, standardUncertainty }: Estimate) => standardUncertainty > 1e-12 * Math.abs(value);

const measured = (least: number, most: number, unit: string) =>
  fc.record({ value: fc.double({ min: least, max: most, noNaN: true }), unit: fc.constant(unit) });
const shots = fc.record({
  topEdge: measured(-11, 14, 'mm'),
  elevation: fc.option(measured(0, 4, 'deg'), { nil: undefined }),
  ballSpeed: fc.option(measured(3.4, 4.2, 'm/s'), { nil: undefined }),
  outcome: measured(-1.2, 1.2, 'm'),
  outcomeUnit: fc.constantFrom('m', 'ball'),
  distance: fc.option(measured(0.2, 1.2, 'm'), { nil: undefined }),
  trimmed: fc.integer({ min: 0, max: 2 }),
  repeats: fc.integer({ min: 0, max: 2 }),
});
const gears = fc.record({
  scaleRelativeUncertainty: fc.double({ min: 0, max: 0.02, noNaN: true }),
  withMass: fc.boolean(),
  withTip: fc.boolean(),
  withCue: fc.boolean(),
  calibrated: fc.boolean(),
  discipline: fc.constantFrom('pool', 'small', 'snooker'),
});

function made(
  shot: typeof shots extends fc.Arbitrary<infer S> ? S : never,
  used: typeof gears extends fc.Arbitrary<infer G> ? G : never,
) {
  const { topEdge, elevation, ballSpeed, outcome, outcomeUnit, distance, trimmed, repeats } = shot;
  const reading = { method: 'shaftTopEdge', topEdge, station: { value: 45, unit: 'mm' } } as const;
  const example = exampleShot({
    elevation,
    tipHeight: reading,
    ballSpeed,
    objectBallDistance: distance,
    contact: { closedFrame: 1000, openFrame: 1009, trimmedStart: trimmed },
    outcome: { distance: { value: outcome.value, unit: outcomeUnit }, ended: 'atRest' },
    repeats: Array.from({ length: repeats }, (_, index) => ({
      tipHeight: { ...reading, topEdge: { value: topEdge.value + 0.1 * (index + 1), unit: 'mm' } },
    })),
  });
  const calibration = {
    method: 'rollOut',
    slidingFriction: { value: 0.2, standardUncertainty: 0.01 },
    rollingResistance: { value: 0.01, standardUncertainty: 0.0005, definition: 'deceleration' },
  };
  const gear = exampleGear(
    { scaleRelativeUncertainty: used.scaleRelativeUncertainty },
    used.withCue
      ? {
          mass: used.withMass ? { value: 19, unit: 'oz' } : undefined,
          tipRadius: used.withTip ? { value: 10.6, unit: 'mm' } : undefined,
        }
      : null,
    { discipline: used.discipline, ...(used.calibrated ? { calibration } : {}) },
  );
  return { example, gear };
}

describe('method version 2', () => {
  it('gives every derived number lines that add up to its standard uncertainty, in all and by what they are common to', () => {
    const seen = new Set<string>();
    fc.assert(
      fc.property(shots, gears, (shot, used) => {
        const { example, gear } = made(shot, used);
        const { derived } = deriveShot(example, gear, methodTwo);
        expect(derivedShotSchema.safeParse(derived).error).toBeUndefined();
        const { budget } = explainDerivation(example, gear, derived);
        for (const { result, estimate, lines } of budget) {
          seen.add(result);
          expectAddsUp(lines, estimate.standardUncertainty, result);
          if (estimate.parts !== undefined && matters(estimate)) {
            expectPartsAddUp(estimate.parts, estimate.standardUncertainty, result);
          }
        }
        const { expected } = derived;
        for (const result of ['restitution', 'effectiveCueMass'] as const) {
          expect(budget.some((each) => each.result === result)).toBe(expected[result] !== null);
        }
        expect(expected.independent).toBe(false);
        for (const { model, outcomeDistance, residual, inputs } of expected.models) {
          seen.add(model);
          const lines = inputs.map(
            ({ contribution, sensitivity = Number.NaN, standardUncertainty, unit, kind, commonTo }) => {
              expect([unit, kind, commonTo]).not.toContain(undefined);
              return { contribution, sensitivity, standardUncertainty };
            },
          );
          expectAddsUp(lines, outcomeDistance.standardUncertainty, model);
          expectPartsAddUp(outcomeDistance.parts, outcomeDistance.standardUncertainty, model);
          if (residual !== null) expectPartsAddUp(residual.parts, residual.standardUncertainty, `residual, ${model}`);
        }
        // No number of these without lines: what has a value has a budget.
        const withLines = new Set(budget.map(({ result }) => result));
        for (const result of ['ballSpeed', 'objectBallDistance', 'cueMass', 'elevation'] as const) {
          expect(withLines.has(result), result).toBe(derived[result] !== null);
        }
      }),
      { seed: 404, numRuns: 60 },
    );
    expect([...seen].sort()).toEqual([
      'ballSpeed',
      'constantEnergyFraction',
      'constantRestitution',
      'contactTime',
      'cueAcceleration',
      'cueMass',
      'cueSpeed',
      'effectiveCueMass',
      'elevation',
      'measuredBallSpeed',
      'objectBallDistance',
      'outcomeDistance',
      'restitution',
      'tipHeight',
      'tipOffset',
    ]);
  });

  it('does so for every golden shot, ball tracks included', () => {
    const seen = new Set<string>();
    for (const { shot, gear } of goldenShots()) {
      const { derived } = deriveShot(shot, gear, methodTwo);
      for (const { result, estimate, lines } of explainDerivation(shot, gear, derived).budget) {
        seen.add(result);
        expectAddsUp(lines, estimate.standardUncertainty, `${shot.label}: ${result}`);
      }
    }
    for (const result of ['arrivalSpeed', 'speedAfterImpact', 'slidingFriction', 'rollingResistance'])
      expect(seen).toContain(result);
  });

  it('leaves no instant and no distance of a ball track without its uncertainty', () => {
    let tracks = 0;
    for (const { shot, gear } of goldenShots()) {
      const { ball } = deriveShot(shot, gear, methodTwo).derived;
      if (ball?.read !== true) continue;
      tracks += 1;
      const uncertain = [
        ...ball.outcomeOverTime.map(({ standardUncertainty }) => standardUncertainty),
        ...ball.slideToRoll.map(({ standardUncertainty }) => standardUncertainty),
        ...(ball.timeToRest === null ? [] : [ball.timeToRestUncertainty]),
        ...(ball.outcomeBound === null ? [] : [ball.outcomeBoundUncertainty]),
        ...(ball.turningPoint === null ? [] : [ball.turningPoint.timeUncertainty]),
      ];
      for (const each of uncertain) expect(each, shot.label).toBeGreaterThan(0);
      // At rest the distance over time is the outcome distance, with its uncertainty.
      const last = ball.outcomeOverTime.at(-1);
      if (ball.outcomeDistance !== null) {
        expectRelative(last?.distance ?? 0, ball.outcomeDistance.value, 1e-9);
        expectRelative(last?.standardUncertainty ?? 0, ball.outcomeDistance.standardUncertainty, 1e-3);
      }
    }
    expect(tracks).toBeGreaterThan(4);
  });

  it('has one line for what cue speed and tip offset share: the scale of the rig', () => {
    const calibration = {
      method: 'rollOut',
      slidingFriction: { value: 0.2, standardUncertainty: 0.01 },
      rollingResistance: { value: 0.01, standardUncertainty: 0.0005, definition: 'deceleration' },
    };
    const gear = exampleGear({}, {}, { calibration });
    const expectedOf = (choices: typeof methodTwo) => deriveShot(exampleShot(), gear, choices).derived.expected;
    const model = expectedOf(methodTwo).models.find((each) => each.model === 'constantRestitution');
    const scale = model?.inputs.filter(({ input }) => input === 'scale') ?? [];
    expect(scale).toHaveLength(1);
    expect(scale[0]).toMatchObject({ commonTo: 'rig', group: 'rig north@1', unit: '1', assumed: false });
    // Elasticities of the draw distance by speed and offset add: both lengths grow with the scale.
    const elasticity = (scale[0]?.sensitivity ?? 0) / (model?.outcomeDistance.value ?? 1);
    expect(elasticity).toBeGreaterThan(7);
    const first = expectedOf(methodOne).models.find((each) => each.model === 'constantRestitution');
    expectRelative(model?.outcomeDistance.value ?? 0, first?.outcomeDistance.value ?? 1, 1e-12);
    expectRelative(
      model?.outcomeDistance.standardUncertainty ?? 0,
      first?.outcomeDistance.standardUncertainty ?? 1,
      0.1,
    );
  });

  it('agrees with drawing what restitution rests on from its uncertainty', () => {
    const shot = exampleShot({ ballSpeed: { value: 2.9, unit: 'm/s' } });
    const { derived } = deriveShot(shot, exampleGear(), methodTwo);
    const { restitution } = derived.expected;
    expect(restitution?.value).toBeGreaterThan(0.5);
    const lines = derived.budget.filter(({ result }) => result === 'restitution');
    expect(new Set(lines.map(({ input }) => input))).toEqual(
      new Set(['cueSpeed', 'ballSpeed', 'tipOffset', 'ballMass', 'cueMass', 'scale']),
    );
    // By hand: d e / d v = (k + m/M)/V, 2 % of v.
    const byBall = lines.find(({ input }) => input === 'ballSpeed');
    expectRelative(byBall?.contribution ?? 0, 0.02 * ((restitution?.value ?? 0) + 1), 1e-6);
  });
});
