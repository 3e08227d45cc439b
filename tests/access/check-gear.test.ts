import { describe, expect, test } from 'vitest';
import { type GearKind, gearContentSchemas, gearKinds } from '../../shared/gear.ts';
import { checkGear, measureFields } from '../../src/access/check-gear.ts';

const rig = { captureRate: { value: 10_000, unit: '1/s' } };

function codesOf(kind: GearKind, content: unknown): string[] {
  const checked = checkGear(kind, content);
  return checked.ok ? [] : checked.faults.map(({ code, pointer }) => `${code} ${pointer}`);
}

/** Paths of all fields that carry a quantity, read from the schema itself. */
function quantityPaths(schema: unknown, path: string[] = []): string[] {
  if (typeof schema !== 'object' || schema === null) return [];
  const { meta, def } = schema as { meta?: () => Record<string, unknown> | undefined; def?: Record<string, unknown> };
  if (typeof meta === 'function') {
    const quantity = (schema as { meta(): Record<string, unknown> | undefined }).meta()?.['x-quantity'];
    if (typeof quantity === 'string') return [`${path.join('.')} ${quantity}`];
  }
  if (def === undefined) return [];
  const inner = [def.innerType, ...(Array.isArray(def.options) ? def.options : [])];
  const shape = (def.shape ?? {}) as Record<string, unknown>;
  return [
    ...inner.flatMap((one) => quantityPaths(one, path)),
    ...Object.entries(shape).flatMap(([key, value]) => quantityPaths(value, [...path, key])),
  ];
}

describe.each(gearKinds)('%s', (kind) => {
  test('every measured field of the schema is checked, as the quantity that the schema says', () => {
    const listed = measureFields[kind].map(({ path, quantity }) => `${path.join('.')} ${quantity}`);
    expect(listed.sort()).toEqual(quantityPaths(gearContentSchemas[kind]).sort());
    expect(listed.length).toBeGreaterThan(2);
  });
});

test('unit codes become canonical while values stay as sent, and defaults are filled in', () => {
  const checked = checkGear('rigs', {
    captureRate: { value: 4000, unit: 'fps' },
    scale: { value: 0.12, unit: 'mm/px' },
  });
  expect(checked).toMatchObject({
    ok: true,
    content: {
      captureRate: { value: 4000, unit: '1/s' },
      scale: { value: 0.12, unit: 'mm/px' },
      positiveTowardsBall: true,
      trimMeaning: 'unknown',
    },
  });
});

test('inches and ounces of a cue are understood', () => {
  const checked = checkGear('cues', { mass: { value: 19, unit: 'oz' }, length: { value: 58, unit: 'in' } });
  expect(checked).toMatchObject({ ok: true, content: { length: { value: 58, unit: '[in_i]' } } });
});

test('what a rig says of itself may be the unit of its other fields', () => {
  const inPixels = { heightUncertainty: { value: 1.5, unit: 'px' } };
  const inFrames = { exposure: { value: 0.5, unit: 'frame' }, fit: { window: { value: 200, unit: 'frame' } } };
  expect(codesOf('rigs', { ...rig, ...inFrames, ...inPixels, scale: { value: 0.1, unit: 'mm/px' } })).toEqual([]);
  expect(codesOf('rigs', { ...rig, ...inPixels })).toEqual(['unit-dimension /content/heightUncertainty/unit']);
  expect(codesOf('rigs', { ...rig, exposure: { value: 2, unit: 'frame' } })).toEqual([
    'exposure-too-long /content/exposure',
  ]);
});

test('what was sent is not changed by the check', () => {
  const sent = { captureRate: { value: 4000, unit: 'fps' } };
  checkGear('rigs', sent);
  expect(sent).toEqual({ captureRate: { value: 4000, unit: 'fps' } });
});

test.each<[string, GearKind, unknown, string]>([
  ['a missing capture rate', 'rigs', {}, 'structure-invalid /content/captureRate'],
  ['a field nobody knows', 'rigs', { ...rig, shutter: 1 }, 'structure-invalid /content'],
  [
    'an infinite value',
    'rigs',
    { captureRate: { value: Infinity, unit: '1/s' } },
    'value-not-finite /content/captureRate/value',
  ],
  [
    'a unit nobody knows',
    'rigs',
    { captureRate: { value: 4000, unit: 'framez' } },
    'unit-unknown /content/captureRate/unit',
  ],
  ['a mass in inches', 'cues', { mass: { value: 19, unit: 'in' } }, 'unit-dimension /content/mass/unit'],
  [
    'a shaft measured in pixels',
    'cues',
    { shaftRadius: { value: 60, unit: 'px' } },
    'unit-dimension /content/shaftRadius/unit',
  ],
  [
    'a negative capture rate',
    'rigs',
    { captureRate: { value: -5, unit: '1/s' } },
    'limit-exceeded /content/captureRate/value',
  ],
  ['a cue of 19 kg', 'cues', { mass: { value: 19, unit: 'kg' } }, 'limit-exceeded /content/mass/value'],
  [
    'a ball of 57 cm',
    'tables',
    { discipline: 'pool', ballDiameter: { value: 57.15, unit: 'cm' } },
    'limit-exceeded /content/ballDiameter/value',
  ],
  [
    'a fit window of no length',
    'rigs',
    { ...rig, fit: { window: { value: 0, unit: 'ms' } } },
    'limit-exceeded /content/fit/window/value',
  ],
  [
    'an exposure of two frames',
    'rigs',
    { ...rig, exposure: { value: 200, unit: 'us' } },
    'exposure-too-long /content/exposure',
  ],
  [
    'playback and capture rate swapped',
    'rigs',
    { captureRate: { value: 30, unit: '1/s' }, playbackRate: { value: 4000, unit: '1/s' } },
    'playback-above-capture /content/playbackRate',
  ],
  [
    'rings that do not rise',
    'rigs',
    { ...rig, ringHeights: { unit: 'mm', values: [4, 4] } },
    'structure-invalid /content/ringHeights/values/1',
  ],
  [
    'rings in pixels',
    'rigs',
    { ...rig, ringHeights: { unit: 'px', values: [4] } },
    'unit-dimension /content/ringHeights/unit',
  ],
  [
    'a ring above the ball',
    'rigs',
    { ...rig, ringHeights: { unit: 'R', values: [0.5, 1.1] } },
    'limit-exceeded /content/ringHeights/values',
  ],
])('%s is refused at its place', (_what, kind, content, fault) => {
  expect(codesOf(kind, content)).toEqual([fault]);
});

test('an exposure of exactly one frame is accepted, also rounded the way a data sheet rounds it', () => {
  const at = (exposure: number) =>
    codesOf('rigs', { captureRate: { value: 3000, unit: '1/s' }, exposure: { value: exposure, unit: 'us' } });
  expect(at(333.3)).toEqual([]);
  expect(at(333.34)).toEqual([]);
  expect(at(340)).toEqual(['exposure-too-long /content/exposure']);
});

test('every fault of a rig is reported at once', () => {
  const content = {
    captureRate: { value: 4000, unit: 'fps' },
    exposure: { value: 5, unit: 'm' },
    scale: { value: 5, unit: 'm/px' },
  };
  expect(codesOf('rigs', content)).toEqual([
    'limit-exceeded /content/scale/value',
    'unit-dimension /content/exposure/unit',
  ]);
});
