import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { derivedShotSchema } from '../../shared/derivation.ts';
import { maximumTrackPoints } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { methodOne, methodTwo } from '../../src/derivation/method-choices.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

/** Paths of numbers that are not finite; JSON would turn them into null. */
function notFinite(value: unknown, path = ''): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [path];
  if (value === null || typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, part]) => notFinite(part, `${path}/${key}`));
}

const position = fc.oneof(
  fc.double({ min: -1e6, max: 1e6, noNaN: true }),
  fc.constantFrom(0, 1, 1e6, -1e6, 1e10, 1e-300, 1e300, -1e300),
);
const positions = fc.oneof(
  fc.array(position, { maxLength: 60 }),
  fc
    .tuple(position, fc.integer({ min: 0, max: 60 }))
    .map(([value, count]) => Array.from({ length: count }, () => value)),
  fc
    .tuple(
      fc.double({ min: -1e6, max: 1e6, noNaN: true }),
      fc.integer({ min: -20, max: 100 }).map((slope) => slope / 100),
      fc.integer({ min: 2, max: 200 }),
    )
    .map(([offset, slope, count]) => Array.from({ length: count }, (_, i) => offset + slope * i)),
);
const measure = (...units: [string, ...string[]]) =>
  fc.record({ value: fc.double({ min: -1e9, max: 1e9, noNaN: true }), unit: fc.constantFrom(...units) });
const length = measure('mm', 'in', 'px', 'R', 'ball', 'diamond', 'km');

const shots = fc.record({
  unit: fc.constantFrom('mm', 'mm', 'in', 'px', 'm', 'R', 'diamond'),
  positions,
  firstFrame: fc.integer({ min: -100, max: 100 }),
  closedFrame: fc.integer({ min: -100, max: 200 }),
  frames: fc.option(fc.integer({ min: -5, max: 5000 }), { nil: undefined }),
  trims: fc.tuple(fc.constantFrom(0, 0, 0, 1, 5, 1000), fc.constantFrom(0, 0, 0, 1, 5, 1000)),
  captureRate: fc.constantFrom(1, 30, 1000, 8000, 8000, 1e6),
  trimMeaning: fc.constantFrom('correction', 'undecided', 'unknown'),
  order: fc.constantFrom(undefined, 1, 2, 3, 4, 5),
  reading: fc.oneof(
    fc.record({ method: fc.constant('shaftTopEdge' as const), topEdge: length }),
    fc.record({ method: fc.constant('shaftEdges' as const), topEdge: length, bottomEdge: length, station: length }),
    fc.record({ method: fc.constant('contactMark' as const), height: length, standardUncertainty: length }),
    fc.record({
      method: fc.constant('ring' as const),
      ring: fc.double({ min: 0, max: 1e6, noNaN: true }),
      ringStep: length,
      side: fc.constantFrom('above' as const, 'below' as const),
    }),
  ),
  distance: length,
  reported: fc.option(measure('m/s', 'mph', 'fps'), { nil: undefined }),
  ballSpeed: fc.option(measure('m/s', 'mph'), { nil: undefined }),
  travel: fc.option(length, { nil: undefined }),
  calibrated: fc.boolean(),
  choices: fc.constantFrom(methodOne, methodTwo),
});

const calibration = {
  method: 'rollOut',
  slidingFriction: { value: 0.2, standardUncertainty: 0.3 },
  rollingResistance: { value: 0.01, standardUncertainty: 0.02, definition: 'energy' },
} as const;

describe('hostile shots', () => {
  it('give faults or finite numbers of the contract, never NaN, infinity or an exception', () => {
    let derivedSpeeds = 0;
    fc.assert(
      fc.property(shots, (hostile) => {
        const shot = exampleShot({
          cueTrack: { unit: hostile.unit, positions: hostile.positions, firstFrame: hostile.firstFrame },
          contact: {
            closedFrame: hostile.closedFrame,
            ...(hostile.frames === undefined ? {} : { openFrame: hostile.closedFrame + hostile.frames }),
            trimmedStart: hostile.trims[0],
            trimmedEnd: hostile.trims[1],
          },
          tipHeight: hostile.reading,
          outcome: { distance: hostile.distance, ended: 'atRest' },
          ballSpeed: hostile.ballSpeed,
          objectBallDistance: hostile.travel,
          ...(hostile.reported === undefined ? {} : { reported: { cueSpeed: hostile.reported } }),
        });
        const gear = exampleGear(
          {
            captureRate: { value: hostile.captureRate, unit: 'Hz' },
            trimMeaning: hostile.trimMeaning,
            fit: hostile.order === undefined ? {} : { order: hostile.order },
          },
          {},
          hostile.calibrated ? { calibration } : {},
        );
        const { derived, faults } = deriveShot(shot, gear, hostile.choices);
        expect(notFinite(derived)).toEqual([]);
        expect(derivedShotSchema.safeParse(derived).error).toBeUndefined();
        if (derived.cueSpeed === null) {
          expect(faults.length + Object.keys(derived.reasons).length).toBeGreaterThan(0);
        } else derivedSpeeds += 1;
      }),
      { seed: 57_150, numRuns: 1500 },
    );
    expect(derivedSpeeds).toBeGreaterThan(20);
  });

  it('of the greatest length are derived like any other', () => {
    const frames = maximumTrackPoints - 10;
    const long = Array.from({ length: maximumTrackPoints }, (_, i) => 3 * i + Math.sin(i * i));
    const { derived, faults } = deriveShot(
      exampleShot({
        cueTrack: { unit: 'mm', positions: long, firstFrame: 0 },
        contact: { closedFrame: frames, openFrame: frames + 9 },
      }),
      exampleGear({ captureRate: { value: 1000, unit: 'fps' }, fit: { window: { value: 1000, unit: 's' } } }),
    );
    expect(faults).toEqual([]);
    expect(derived.cueSpeed?.value).toBeCloseTo(3, 2);
  });
});
