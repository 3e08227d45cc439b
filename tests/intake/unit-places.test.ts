/** Every place of a shot that holds a unit is judged: as the quantity of the schema, at its pointer, with a valid unit named. */
import { describe, expect, it } from 'vitest';
import { type QuantityName, quantities } from '../../shared/quantities.ts';
import { type Shot, type ShotInput, shotInputSchema } from '../../shared/shot.ts';
import { lookUpUnit } from '../../shared/units.ts';
import { unitPlaces, withUnit } from '../../src/intake/measures.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { goodShot, inventedBook } from './invented.ts';

const mm = (value: number) => ({ value, unit: 'mm' });
const cm = (value: number) => ({ value, unit: 'cm' });

/** Shots that between them hold every measure of the schema. */
const readings = [
  { method: 'shaftTopEdge', topEdge: mm(-2), station: mm(45), standardUncertainty: mm(0.2) },
  { method: 'shaftEdges', topEdge: mm(-2), bottomEdge: mm(-15), station: mm(45), standardUncertainty: mm(0.2) },
  { method: 'contactMark', height: mm(-8), standardUncertainty: mm(0.2) },
  { method: 'ring', ring: 2, ringStep: mm(4), side: 'below', station: mm(45), standardUncertainty: mm(0.2) },
] as const satisfies readonly ShotInput['tipHeight'][];
const shots = readings.map((tipHeight, index) => {
  const shot = goodShot(`u${index}`, {
    elevation: { value: 1, unit: 'deg' },
    cutAngle: { value: 0, unit: 'deg' },
    ballSpeed: { value: 3, unit: 'm/s' },
    tipHeight,
    outcome: {
      distance: cm(-30),
      standardUncertainty: cm(0.5),
      firstCushionDistance: cm(-80),
      ended: 'atRest',
    },
    reported: {
      cueSpeed: { value: 2.5, unit: 'm/s' },
      cueAcceleration: { value: 10, unit: 'm/s2' },
      contactTime: { value: 1.5, unit: 'ms' },
      tipOffset: { value: -0.3, unit: 'R' },
    },
    ballTrack: {
      unit: 'px',
      positions: [0, 1, 2],
      times: { unit: 'ms', values: [0, 10, 20] },
      captureRate: { value: 100, unit: 'fps' },
      playbackRate: { value: 30, unit: 'fps' },
      scale: { value: 1.2, unit: 'mm/px' },
    },
    repeats: [{ tipHeight, outcomeDistance: cm(-30.5) }],
  });
  const { firstFrame = 0, ...track } = shot.cueTrack ?? { unit: 'mm', positions: [] };
  const values = track.positions.map((_, at) => (firstFrame + at) / 2);
  return { ...shot, cueTrack: { ...track, firstFrame, times: { unit: 'ms', values } } };
});

/** `path quantity` of every measure in a schema; members of a list stand at 0. */
function measuresOf(schema: unknown, path = ''): string[] {
  const { meta, def } = schema as { meta?: () => Record<string, unknown> | undefined; def?: Record<string, unknown> };
  if (def === undefined) return [];
  const quantity = typeof meta === 'function' ? (schema as { meta(): Record<string, unknown> | undefined }).meta() : {};
  if (typeof quantity?.['x-quantity'] === 'string') return [`${path} ${quantity['x-quantity']}`];
  return [
    ...(def.innerType === undefined ? [] : measuresOf(def.innerType, path)),
    ...(def.element === undefined ? [] : measuresOf(def.element, `${path}/0`)),
    ...((def.options as unknown[] | undefined) ?? []).flatMap((option) => measuresOf(option, path)),
    ...Object.entries(def.shape ?? {}).flatMap(([key, inner]) => measuresOf(inner, `${path}/${key}`)),
  ];
}
/** Lists of numbers whose unit stands beside them. */
const lists = [
  '/cueTrack cuePosition',
  '/cueTrack/times trackTime',
  '/ballTrack cuePosition',
  '/ballTrack/times trackTime',
];

function faultsOf(value: unknown) {
  return prepareShot(parseSentShot({ position: 1, row: null, columns: null, value, faults: [] }), inventedBook(), null)
    .faults;
}

const parsed = shots.map((shot): Shot => shotInputSchema.parse(shot));
const placed = parsed.flatMap((shot) => unitPlaces(shot).map((place) => ({ shot, ...place })));

it('the places are those of the schema, each with its quantity', () => {
  const found = new Set(placed.map(({ pointer, quantity }) => `${pointer} ${quantity}`));
  expect([...found].sort()).toEqual([...new Set([...measuresOf(shotInputSchema), ...lists])].sort());
  expect(found.size).toBeGreaterThan(30);
});

it('shots with all of them are accepted', () => {
  for (const shot of shots) expect(faultsOf(shot)).toEqual([]);
});

const different = placed.filter(
  (place, index) => placed.findIndex(({ pointer }) => pointer === place.pointer) === index,
);
describe.each(different.map((place) => [place.pointer, place] as const))('%s', (pointer, { shot, path, quantity }) => {
  const named = (remedy: string) => (remedy.match(/[^\s']+(?=\.$)/)?.[0] ?? '').replace(/,$/, '');
  /** A unit of something else: kilograms for everything but a mass. */
  const other = quantities[quantity].dimension === 'mass' ? 's' : 'kg';
  it.each([
    ['unit-unknown', 'zorkmids'],
    ['unit-dimension', other],
  ] as const)('%s: is told at its unit, with one that is valid there', (code, unit) => {
    const faults = faultsOf(withUnit(shot, path, unit));
    expect(faults.map((fault) => [fault.code, fault.pointer])).toEqual([[code, `${pointer}/unit`]]);
    expect(lookUpUnit(named(faults[0]?.remedy ?? ''), quantity as QuantityName).ok, faults[0]?.remedy).toBe(true);
  });
});
