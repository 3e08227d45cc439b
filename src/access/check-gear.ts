/**
 * Checks of gear before it is kept: structure, units, impossible values, exposure and rates. Unit codes are made
 * canonical; values stay as sent.
 */
import type { z } from 'zod';
import { fault, pointerOf } from '../../shared/fault.ts';
import {
  type CueContent,
  type GearKind,
  gearContentSchemas,
  type RigContent,
  type TableContent,
} from '../../shared/gear.ts';
import type { Measure } from '../../shared/measure.ts';
import type { Fault } from '../../shared/problems.ts';
import { type Limits, type QuantityName, quantities } from '../../shared/quantities.ts';
import { lookUpUnit, toSi, type UnitContext, unitNeeds } from '../../shared/units.ts';
import { calibrateTable } from '../derivation/calibrate-table.ts';
import { ballsOf, byDeceleration } from '../derivation/expectation-inputs.ts';
import type { Measured } from '../physics/calibration-series.ts';

export interface GearContent {
  readonly rigs: RigContent;
  readonly cues: CueContent;
  readonly tables: TableContent;
}

interface MeasureField {
  readonly path: readonly string[];
  readonly quantity: QuantityName;
  /** Narrower than the hard limits of the quantity, where the field is not a value of it but an uncertainty or a span. */
  readonly limits?: Limits;
}

/** Every measured field of gear, those first that others may be given in; a test holds this list to the schemas. */
export const measureFields: Readonly<Record<GearKind, readonly MeasureField[]>> = {
  rigs: [
    { path: ['captureRate'], quantity: 'captureRate' },
    { path: ['playbackRate'], quantity: 'playbackRate' },
    { path: ['scale'], quantity: 'scale' },
    { path: ['exposure'], quantity: 'exposure' },
    { path: ['heightUncertainty'], quantity: 'heightReading', limits: { min: 1e-6, max: 0.02 } },
    { path: ['ringParallax'], quantity: 'heightReading', limits: { min: 0, max: 0.02 } },
    { path: ['fit', 'window'], quantity: 'trackTime', limits: { min: 1e-3, max: 2 } },
  ],
  cues: [
    { path: ['mass'], quantity: 'cueMass' },
    { path: ['length'], quantity: 'cueLength' },
    { path: ['shaftRadius'], quantity: 'shaftRadius' },
    { path: ['tipDiameter'], quantity: 'tipDiameter' },
    { path: ['tipRadius'], quantity: 'tipRadius' },
  ],
  tables: [
    { path: ['ballDiameter'], quantity: 'ballDiameter' },
    { path: ['ballMass'], quantity: 'ballMass' },
    { path: ['length'], quantity: 'tableLength' },
    { path: ['stopBand'], quantity: 'outcomeDistance', limits: { min: 0, max: 0.3 } },
  ],
};

export type CheckedGear<Kind extends GearKind> =
  | { readonly ok: true; readonly content: GearContent[Kind] }
  | { readonly ok: false; readonly faults: readonly Fault[] };

/**
 * Checks the content of one piece of gear.
 * @param sent as sent; not changed
 * @param base JSON pointer of the content in the request
 */
export function checkGear<Kind extends GearKind>(kind: Kind, sent: unknown, base = '/content'): CheckedGear<Kind> {
  const parsed = gearContentSchemas[kind].safeParse(sent);
  if (!parsed.success)
    return { ok: false, faults: parsed.error.issues.map((issue) => structureFault(issue, sent, base)) };
  const content = parsed.data as GearContent[Kind];
  const faults: Fault[] = [];
  const siValues = new Map<string, number>();
  for (const field of measureFields[kind]) {
    const value = valueAt(content, field.path);
    if (!isMeasure(value)) continue;
    const pointer = `${base}${pointerOf(field.path)}`;
    // What a rig says of itself, listed first, is the context of its other fields.
    const context: UnitContext = {
      captureRate: siValues.get('captureRate'),
      metresPerPixel: kind === 'rigs' ? siValues.get('scale') : undefined,
    };
    const checked = checkMeasure(value, field, pointer, context);
    if (checked.fault !== null) faults.push(checked.fault);
    else {
      value.unit = checked.code;
      siValues.set(field.path.join('.'), checked.si);
    }
  }
  if (kind === 'rigs') {
    faults.push(...checkRates(siValues, content as RigContent, base));
    faults.push(...checkRings(content as RigContent, base));
  }
  if (kind === 'tables' && faults.length === 0) faults.push(...checkSeries(content as TableContent, base));
  return faults.length > 0 ? { ok: false, faults } : { ok: true, content };
}

type CheckedMeasure = { readonly fault: Fault } | { readonly fault: null; readonly code: string; readonly si: number };

function checkMeasure(
  measure: Measure,
  { quantity, limits }: MeasureField,
  pointer: string,
  context: UnitContext,
): CheckedMeasure {
  const unit = lookUpUnit(measure.unit, quantity);
  const unitPointer = `${pointer}/unit`;
  if (!unit.ok) return { fault: fault(unit.code, unitPointer, measure.unit, unit.expected, unit.remedy) };
  const needs = unitNeeds(unit.code, quantity);
  if (needs !== null && context[needs] === undefined) {
    const { siUnit } = quantities[quantity];
    const remedy = `Gear is described on its own, so give this in ${siUnit} or another absolute unit.`;
    return { fault: fault('unit-dimension', unitPointer, measure.unit, `a unit that converts to ${siUnit}`, remedy) };
  }
  const si = toSi(measure.value, unit.code, quantity, context);
  const { min, max } = limits ?? quantities[quantity].hard;
  if (!(si >= min && si <= max)) {
    const { label, siUnit } = quantities[quantity];
    const expected = `${limits === undefined ? label : `${label} (this field)`} between ${min} and ${max} ${siUnit}`;
    const sent = `${measure.value} ${measure.unit} (${si} ${siUnit})`;
    return { fault: fault('limit-exceeded', `${pointer}/value`, sent, expected) };
  }
  return { fault: null, code: unit.code, si };
}

/** Exposure must fit into a frame (1/f as people round it), and a slow-motion file never plays faster than recorded. */
function checkRates(si: ReadonlyMap<string, number>, rig: RigContent, base: string): Fault[] {
  const captureRate = si.get('captureRate');
  if (captureRate === undefined) return [];
  const faults: Fault[] = [];
  const exposure = si.get('exposure');
  const roundingTolerance = 1e-3;
  if (exposure !== undefined && exposure * captureRate > 1 + roundingTolerance) {
    const expected = `at most ${1 / captureRate} s, one frame at ${captureRate} frames/s`;
    faults.push(fault('exposure-too-long', `${base}/exposure`, describe(rig.exposure), expected));
  }
  const playbackRate = si.get('playbackRate');
  if (playbackRate !== undefined && playbackRate > captureRate) {
    const expected = `at most the capture rate, ${describe(rig.captureRate)}`;
    faults.push(fault('playback-above-capture', `${base}/playbackRate`, describe(rig.playbackRate), expected));
  }
  return faults;
}

/** Rings are higher and higher, on no larger a ball than there is; the unit code becomes canonical. */
function checkRings({ ringHeights }: RigContent, base: string): Fault[] {
  if (ringHeights === undefined) return [];
  const faults: Fault[] = [];
  let below = 0;
  for (const [index, value] of ringHeights.values.entries()) {
    const pointer = `${base}/ringHeights/values/${index}`;
    if (!(value > below)) faults.push(fault('structure-invalid', pointer, value, 'a ring higher than the one before'));
    below = value;
  }
  const unit = lookUpUnit(ringHeights.unit, 'heightReading');
  if (!unit.ok) {
    return [...faults, fault(unit.code, `${base}/ringHeights/unit`, ringHeights.unit, unit.expected, unit.remedy)];
  }
  // In ball radii the scale is that of any ball.
  const ofBall = unit.code === 'R';
  if (!ofBall && unitNeeds(unit.code, 'heightReading') !== null) {
    const remedy = 'The rings are on the ball, so give their heights in an absolute unit or in ball radii (R).';
    return [
      ...faults,
      fault('unit-dimension', `${base}/ringHeights/unit`, ringHeights.unit, 'a length unit, or R', remedy),
    ];
  }
  ringHeights.unit = unit.code;
  const highest = ofBall ? below : toSi(below, unit.code, 'heightReading', {});
  const most = ofBall ? 1 : quantities.tipHeight.hard.max;
  if (highest > most) {
    const sent = `${below} ${ringHeights.unit}`;
    faults.push(fault('limit-exceeded', `${base}/ringHeights/values`, sent, `rings on a ball: at most ${most}`));
  }
  return faults;
}

/** A series that is kept with a calibration must give what the calibration says. */
function checkSeries(table: TableContent, base: string): Fault[] {
  const { calibration } = table;
  if (calibration?.series === undefined) return [];
  const at = `${base}/calibration`;
  const { faults, ...found } = calibrateTable(calibration.series, table, ballsOf(calibration), `${at}/series`);
  const stated = {
    slidingFriction: calibration.slidingFriction,
    rollingResistance: byDeceleration(calibration.rollingResistance),
  };
  const differs = (['slidingFriction', 'rollingResistance'] as const).flatMap((name) => {
    const given = found[name];
    if (given === null || agree(given, stated[name])) return [];
    const expected = `${given.value} with u = ${given.standardUncertainty}, as the series gives`;
    const remedy = 'Leave the values to the server: send the series to the calibrations of the table.';
    return [fault('structure-invalid', `${at}/${name}`, calibration[name], expected, remedy)];
  });
  return [...faults, ...differs];
}

function agree(first: Measured, second: Measured): boolean {
  const close = (a: number, b: number) => Math.abs(a - b) <= 1e-9 * Math.abs(b);
  return close(first.value, second.value) && close(first.standardUncertainty, second.standardUncertainty);
}

function structureFault(issue: z.core.$ZodIssue, sent: unknown, base: string): Fault {
  const value = valueAt(sent, issue.path);
  const pointer = `${base}${pointerOf(issue.path)}`;
  if (typeof value === 'number' && !Number.isFinite(value)) {
    return fault('value-not-finite', pointer, value, 'a finite number');
  }
  return fault('structure-invalid', pointer, value, issue.message);
}

function valueAt(root: unknown, path: readonly PropertyKey[]): unknown {
  let value: unknown = root;
  for (const key of path) {
    if (typeof value !== 'object' || value === null) return undefined;
    value = (value as Readonly<Record<PropertyKey, unknown>>)[key];
  }
  return value;
}

function isMeasure(value: unknown): value is Measure {
  return typeof value === 'object' && value !== null;
}

function describe(measure: Measure | undefined): string {
  return measure === undefined ? 'nothing' : `${measure.value} ${measure.unit}`;
}
