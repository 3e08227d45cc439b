/**
 * The cue ball from its own track: at rest, struck, sliding and rolling to the object ball, and on from the impact to
 * where it ends.
 *
 * Each stretch between blows is fitted by itself (`fitBallSegment`); the impact is where the two curves meet, so that its
 * instant lies between frames:
 *
 *   x1(ti) = x2(ti),  d ti = (d x2 - d x1)/(v1 - v2),  d xi = (v1 d x2 - v2 d x1)/(v1 - v2)
 *
 * Distances after the impact count from xi, positive onwards.
 */
import { type StartOfMotion, startOfMotion, strongestBlow, trackNoise, withoutSpikes } from './ball-events.ts';
import { combineDecelerations, type Decelerations, decelerations } from './ball-friction.ts';
import { distanceAt, type ImpactFit, impactOf, restingPlace, type TimedDistance, turningPoint } from './ball-impact.ts';
import {
  type BallSegment,
  combinationVariance,
  fitBallSegment,
  phaseEnd,
  phasesShown,
  segmentAt,
} from './fit-ball-segment.ts';
import { fromParts, type Uncertain } from './uncertain.ts';

export interface BallTrackInput {
  /** s, strictly increasing. */
  readonly times: Float64Array;
  /** m along the shot line, positive towards the object ball. */
  readonly positions: Float64Array;
  /** Time of the frame in which tip and ball, or the balls, were seen to touch; null when not seen. */
  readonly contactTime: number | null;
  readonly impactTime: number | null;
  /** Signed distance after the impact at which a cushion was touched, m; null when none was. */
  readonly cushionDistance: number | null;
}

/** Where the ball stood at some time after the impact, by the fit. */
export interface OutcomeSample {
  readonly time: number;
  readonly distance: number;
  readonly standardUncertainty: number;
}

export interface BallTrackFit {
  /** Off the tip, m/s. */
  readonly ballSpeed: Uncertain | null;
  readonly impact: ImpactFit | null;
  /** Farthest place of a ball that comes back, m from the impact, and its time, s after it. */
  readonly turning: TimedDistance | null;
  /** m; null when the ball does not come to rest by itself within the film. */
  readonly outcomeDistance: Uncertain | null;
  /** s from impact to rest. */
  readonly timeToRest: number | null;
  readonly timeToRestUncertainty: number | null;
  /** Last distance seen before a rail or the end of the film, m; null when there is an outcome distance, or no impact. */
  readonly reached: number | null;
  readonly reachedUncertainty: number | null;
  readonly ended: 'atRest' | 'cushion' | 'outOfView' | null;
  /** s after the start of the film at which sliding ended. */
  readonly breaks: readonly {
    readonly phase: 'beforeImpact' | 'afterImpact';
    readonly time: number;
    readonly standardUncertainty: number;
  }[];
  readonly deceleration: Decelerations;
  /** Every stretch shows sliding and rolling, each long enough to be told from the other. */
  readonly everyPhaseShown: boolean;
  readonly samples: readonly OutcomeSample[];
  readonly segments: { readonly before: BallSegment | null; readonly after: BallSegment | null };
}

const sampleCount = 11;
/** Positions are not taken to be better than this, m. */
const leastNoise = 1e-7;

/** Finds everything the track shows; what it does not show is null. Never fails. */
export function fitBallTrack(sent: BallTrackInput): BallTrackFit {
  const origin = sent.positions[0] ?? 0;
  const all = sent.positions.map((place) => place - origin);
  const noise = Math.max(leastNoise, trackNoise(all));
  const kept = withoutSpikes(all, noise);
  const positions = all.filter((_, i) => kept[i]);
  const times = sent.times.filter((_, i) => kept[i]);
  const input = { ...sent, times, positions };
  const start = startOf(input, positions, noise);
  const from = start?.moving ?? 0;
  const struck = from > 0 || input.contactTime !== null;
  const stretch = (first: number, end: number) =>
    end - first < 4 ? null : fitBallSegment(times.slice(first, end), positions.slice(first, end), noise);

  const split = splitAtImpact(input, positions, noise, from);
  if (split === null) {
    const end = endOfStretch(times, positions, noise, from);
    const only = stretch(from, end);
    return withoutImpact(only, struck ? speedOffTip(only, start, input, from) : null);
  }
  let after = afterImpact(input, positions, noise, split.after, null);
  let before = stretch(from, split.before + 1);
  let impact = impactOf(before, after.segment, split.time, split.halfWidth);
  if (impact !== null) {
    // The instant is known now: every point belongs to one side.
    const next = times.findIndex((time) => time > (impact as ImpactFit).time.value);
    const first = next < 0 ? split.after : next;
    before = stretch(from, first);
    after = afterImpact(input, positions, noise, first, impact);
    impact = impactOf(before, after.segment, impact.time.value, split.halfWidth);
  }
  return withImpact(before, after, impact, struck ? speedOffTip(before, start, input, from) : null);
}

function startOf(input: BallTrackInput, positions: Float64Array, noise: number): StartOfMotion | null {
  const { contactTime, times } = input;
  if (contactTime === null) return startOfMotion(positions, noise);
  const moving = times.findIndex((time) => time > contactTime);
  const seen = startOfMotion(positions, noise);
  // What the eye saw and what the track shows may differ by a frame; the track goes before.
  if (seen !== null && Math.abs(seen.moving - moving) <= 2) return seen;
  return moving < 0 ? null : { moving, place: Number.NaN, points: 0 };
}

interface Split {
  /** Last point surely before, first point surely after the impact. */
  readonly before: number;
  readonly after: number;
  readonly time: number;
  readonly halfWidth: number | null;
}

function splitAtImpact(input: BallTrackInput, positions: Float64Array, noise: number, from: number): Split | null {
  const { times, impactTime } = input;
  const count = times.length;
  if (impactTime !== null) {
    const after = times.findIndex((time) => time > impactTime);
    if (after < 1) return null;
    const here = times[after - 1] as number;
    const interval = (times[after] as number) - here;
    return { before: Math.max(from, after - 2), after, time: impactTime, halfWidth: interval / 2 };
  }
  if (count - from < 6) return null;
  const blow = strongestBlow(times, positions, noise, from, count, true);
  if (blow === null) return null;
  const { index } = blow;
  return { before: index - 2, after: index + 1, time: times[index] as number, halfWidth: null };
}

interface AfterImpact {
  readonly segment: BallSegment | null;
  /** Time and place of the last point that counts. */
  readonly lastTime: number;
  readonly cushion: boolean;
}

/** The stretch after the impact, up to a rail if one is touched. */
function afterImpact(
  input: BallTrackInput,
  positions: Float64Array,
  noise: number,
  first: number,
  impact: ImpactFit | null,
): AfterImpact {
  const { times, cushionDistance } = input;
  let end = endOfStretch(times, positions, noise, first);
  if (cushionDistance !== null && impact !== null) {
    const side = Math.sign(cushionDistance);
    for (let i = first; i < end; i += 1) {
      if (side * ((positions[i] as number) - impact.place.value - cushionDistance) >= 0) end = i;
    }
  }
  return {
    segment: end - first < 4 ? null : fitBallSegment(times.slice(first, end), positions.slice(first, end), noise),
    lastTime: times[Math.max(first, end - 1)] as number,
    cushion: end < times.length || cushionDistance !== null,
  };
}

function endOfStretch(times: Float64Array, positions: Float64Array, noise: number, first: number): number {
  const count = times.length;
  if (count - first < 8) return count;
  return strongestBlow(times, positions, noise, first, count, false)?.index ?? count;
}

/** Speed at the instant at which the curve leaves the resting place, or at the frame in which contact was seen. */
function speedOffTip(
  segment: BallSegment | null,
  start: StartOfMotion | null,
  { contactTime, times }: BallTrackInput,
  from: number,
): Uncertain | null {
  // Sliding that is too short to be seen would leave the speed off the tip too low by an unknown amount.
  if (segment === null || decelerations(segment).sliding === null) return null;
  let time = contactTime ?? (times[from] as number);
  if (start === null || start.points === 0) {
    if (contactTime === null) return null;
    const at = segmentAt(segment, time);
    const interval = (times[from + 1] as number) - (times[from] as number);
    const late = (at.curvature * interval) / Math.sqrt(12);
    return checkedSpeed(
      fromParts(at.slope, [
        { variance: combinationVariance(segment, at.slopeGradient), degrees: segment.degrees },
        { variance: late * late, degrees: 1e6 },
      ]),
    );
  }
  time = times[from] as number;
  for (let step = 0; step < 20; step += 1) {
    const { value, slope } = segmentAt(segment, time);
    if (!(slope > 0)) return null;
    time -= (value - start.place) / slope;
  }
  if (!(time <= (times[from] as number) && time >= (times[from - 2] ?? times[0] ?? 0))) return null;
  const at = segmentAt(segment, time);
  if (!(at.slope > 0)) return null;
  const drift = at.curvature / at.slope;
  const gradient = at.slopeGradient.map((value, k) => value - drift * (at.valueGradient[k] as number));
  const rest = (drift * segment.residualStandardDeviation) / Math.sqrt(start.points);
  return checkedSpeed(
    fromParts(at.slope, [
      { variance: combinationVariance(segment, gradient), degrees: segment.degrees },
      { variance: rest * rest, degrees: segment.degrees },
    ]),
  );
}

function checkedSpeed(speed: Uncertain): Uncertain | null {
  return speed.value > 0 && Number.isFinite(speed.standardUncertainty) ? speed : null;
}

function breaksOf(before: BallSegment | null, after: BallSegment | null): BallTrackFit['breaks'] {
  const of = (phase: 'beforeImpact' | 'afterImpact', segment: BallSegment | null) =>
    segment?.form.broken === true ? [{ phase, ...phaseEnd(segment, 4) }] : [];
  return [...of('beforeImpact', before), ...of('afterImpact', after)];
}

function withoutImpact(only: BallSegment | null, ballSpeed: Uncertain | null): BallTrackFit {
  return {
    ballSpeed,
    impact: null,
    turning: null,
    outcomeDistance: null,
    timeToRest: null,
    timeToRestUncertainty: null,
    reached: null,
    reachedUncertainty: null,
    ended: null,
    breaks: breaksOf(only, null),
    deceleration: combineDecelerations(only === null ? [] : [decelerations(only)]),
    everyPhaseShown: only === null || phasesShown(only),
    samples: [],
    segments: { before: only, after: null },
  };
}

function withImpact(
  before: BallSegment | null,
  { segment, lastTime, cushion }: AfterImpact,
  impact: ImpactFit | null,
  ballSpeed: Uncertain | null,
): BallTrackFit {
  const stretches = [before, segment].filter((stretch) => stretch !== null);
  const shared = {
    ballSpeed,
    impact,
    breaks: breaksOf(before, segment),
    deceleration: combineDecelerations(stretches.map(decelerations)),
    everyPhaseShown: stretches.every(phasesShown),
    segments: { before, after: segment },
  };
  if (impact === null || segment === null) {
    return {
      ...shared,
      turning: null,
      outcomeDistance: null,
      timeToRest: null,
      timeToRestUncertainty: null,
      reached: null,
      reachedUncertainty: null,
      ended: null,
      samples: [],
    };
  }
  const rest = cushion ? null : restingPlace(before, segment, impact);
  const end = rest === null ? lastTime : rest.time;
  const duration = Math.max(0, end - impact.time.value);
  const sample = (time: number): OutcomeSample => {
    const { value, standardUncertainty } = distanceAt(impact.time.value + time, before, segment, impact);
    return { time, distance: value, standardUncertainty };
  };
  const samples = Array.from({ length: sampleCount }, (_, i) => sample((i * duration) / (sampleCount - 1)));
  const last = rest === null ? sample(duration) : null;
  return {
    ...shared,
    turning: turningPoint(before, segment, impact, end),
    outcomeDistance: rest?.distance ?? null,
    timeToRest: rest === null ? null : duration,
    timeToRestUncertainty:
      rest === null
        ? null
        : Math.sqrt(
            rest.timeUncertainty * rest.timeUncertainty +
              impact.time.standardUncertainty * impact.time.standardUncertainty,
          ),
    reached: last?.distance ?? null,
    reachedUncertainty: last?.standardUncertainty ?? null,
    ended: rest !== null ? 'atRest' : cushion ? 'cushion' : 'outOfView',
    samples,
  };
}
