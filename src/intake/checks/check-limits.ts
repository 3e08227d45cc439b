/** Values that are impossible in SI, and values off by the ratio of capture to playback rate. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { type Limits, type QuantityName, quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import { siFactors, toSi, type UnitContext, unitNeeds } from '../../../shared/units.ts';
import type { SettledGear } from '../../derivation/settle-gear.ts';
import { type UnitPlace, unitPlaces } from '../measures.ts';
import { ballCamera } from './ball-camera.ts';
import type { CheckInput } from './check-input.ts';
import { mendedRate, rateRemedy } from './check-reported-rate.ts';

/** Sizes and uncertainties that must be above 0 whatever the limits of their quantity are. */
const positive = /\/(standardUncertainty|ringStep)$/;

const within = (value: number, { min, max }: Limits): boolean => value >= min && value <= max;

/** Power of the rate in the quantities that depend on it. */
const ratePowers: Partial<Record<QuantityName, -1 | 1 | 2>> = {
  cueSpeed: 1,
  ballSpeed: 1,
  cueAcceleration: 2,
  contactTime: -1,
};

function confusedFault(place: UnitPlace, si: number, gear: SettledGear): Fault | null {
  const { captureRate, playbackRate } = gear;
  const { usual, siUnit } = quantities[place.quantity];
  if (playbackRate === null || playbackRate >= captureRate) return null;
  const ratio = captureRate / playbackRate;
  const power = ratePowers[place.quantity];
  if (power === undefined) return null;
  const corrected = mendedRate(si, power, ratio);
  if (!within(corrected, usual)) return null;
  const likely = `${Number(corrected.toPrecision(4))} ${siUnit}, if it was computed with the playback rate`;
  const remedy = rateRemedy(power, ratio, gear);
  return fault('rate-confusion', `${place.pointer}/value`, `${place.value} ${place.unit}`, likely, remedy);
}

function missingContext(place: UnitPlace, context: 'metresPerPixel' | 'tableLength', rigName: string): Fault {
  if (context === 'metresPerPixel') {
    const expected =
      place.pointer === '/ballTrack'
        ? 'a length unit, or the scale of the camera that filmed the ball'
        : `a length unit, or a rig with a scale (${rigName} has none)`;
    return fault('scale-missing', `${place.pointer}/unit`, `unit ${place.unit}`, expected);
  }
  const expected = 'a length unit, or a table whose length is given';
  return fault(
    'unit-unknown',
    `${place.pointer}/unit`,
    `unit ${place.unit}`,
    expected,
    'Use m, or give the table its length.',
  );
}

/** The first value of a list (positions, times) that is impossible. */
function checkList(
  place: UnitPlace,
  values: readonly (number | null)[],
  pointer: string,
  context: UnitContext,
): Fault[] {
  const { hard, siUnit } = quantities[place.quantity];
  const { multiplier, divisor } = siFactors(place.unit, place.quantity, context);
  const index = values.findIndex((value) => value !== null && !within((value * multiplier) / divisor, hard));
  if (index === -1) return [];
  const sent = `${values[index]} ${place.unit}`;
  return [fault('limit-exceeded', `${pointer}/${index}`, sent, `${hard.min} to ${hard.max} ${siUnit}`)];
}

/** The lists of a track that are in one unit. */
function checkTrackLists(place: UnitPlace, { cueTrack, ballTrack }: Shot, context: UnitContext): Fault[] {
  const list = (values: readonly (number | null)[] | undefined, pointer: string) =>
    checkList(place, values ?? [], pointer, context);
  switch (place.pointer) {
    case '/cueTrack':
      return [...list(cueTrack?.positions, '/cueTrack/positions'), ...list(cueTrack?.gaps, '/cueTrack/gaps')];
    case '/cueTrack/times':
      return list(cueTrack?.times?.values, '/cueTrack/times/values');
    case '/ballTrack':
      return list(ballTrack?.positions, '/ballTrack/positions');
    default:
      return list(ballTrack?.times?.values, '/ballTrack/times/values');
  }
}

const inside = (outer: string, inner: string): boolean => inner === outer || inner.startsWith(`${outer}/`);

function checkPlace(place: UnitPlace, { shot, rigName, refusedUnits }: CheckInput, gear: SettledGear): Fault[] {
  const needs = unitNeeds(place.unit, place.quantity);
  const { ballTrack } = shot;
  const ofBall = ballTrack !== undefined && inside('/ballTrack', place.pointer);
  const context = ofBall ? ballCamera(ballTrack, gear).context : gear.context;
  if ((needs === 'metresPerPixel' || needs === 'tableLength') && context[needs] === undefined) {
    // A scale whose unit is refused is there, but says nothing yet.
    return ofBall && refusedUnits.has('/ballTrack/scale') ? [] : [missingContext(place, needs, rigName)];
  }
  if (place.value === null) return checkTrackLists(place, shot, context);
  const { hard, siUnit } = quantities[place.quantity];
  const si = toSi(place.value, place.unit, place.quantity, context);
  const mustBePositive = positive.test(place.pointer);
  if (within(si, hard) && !(mustBePositive && si <= 0)) return [];
  const confused = confusedFault(place, si, gear);
  if (confused !== null) return [confused];
  const expected = mustBePositive ? `above 0, at most ${hard.max} ${siUnit}` : `${hard.min} to ${hard.max} ${siUnit}`;
  const sent = place.unit === siUnit ? `${place.value} ${siUnit}` : `${place.value} ${place.unit} = ${si} ${siUnit}`;
  return [fault('limit-exceeded', `${place.pointer}/value`, sent, expected)];
}

/** Faults: limit-exceeded, rate-confusion; scale-missing and unit-unknown where a unit needs what the gear lacks. */
export function checkLimits(input: CheckInput): Fault[] {
  const { gear } = input;
  if (gear === null) return [];
  return unitPlaces(input.shot)
    .filter(({ pointer }) => !input.refusedUnits.has(pointer))
    .flatMap((place) => checkPlace(place, input, gear));
}
