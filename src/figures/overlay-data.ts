/** Two shots on common time bases: the cue about first contact, the ball about the ball-ball impact. SI. */
import type { OverlaidShot, Overlay } from '../../shared/overlay.ts';
import { scaleBallTrack } from '../derivation/scale-ball-track.ts';
import { scaleTrack } from '../derivation/scale-track.ts';
import { settleGear } from '../derivation/settle-gear.ts';
import type { ShotFigureInput } from './shot-figure.ts';
import { strokeFigureData } from './shot-figure-data.ts';
import { inWords } from './value-words.ts';

export interface OverlaidInput extends ShotFigureInput {
  readonly id: string;
}

/** Longer tracks are thinned evenly to at most so many points. */
const mostPoints = 2000;

export function overlayData(first: OverlaidInput, second: OverlaidInput): Overlay {
  const shots: Overlay['shots'] = [overlaid(first), overlaid(second)];
  return { shots, sentence: shots.map(sentenceOf).join(' ') };
}

interface Series {
  readonly points: OverlaidShot['cue'];
  readonly reason: string | null;
}

function overlaid(input: OverlaidInput): OverlaidShot {
  const { id, lab, revision, shot, gear, derived } = input;
  const cue = cueSeries(input);
  const ball = ballSeries(input);
  return {
    id,
    lab,
    label: shot.label,
    revision,
    methodVersion: derived.methodVersion,
    cueSpeed: derived.cueSpeed,
    cueAcceleration: derived.cueAcceleration,
    contactTime: derived.contactTime,
    tipOffset: derived.tipOffset,
    objectBallDistance: derived.objectBallDistance,
    outcomeDistance: derived.outcomeDistance,
    outcomeBound: derived.outcomeBound,
    ended: derived.ended,
    cue: cue.points,
    cueReason: cue.reason,
    cueFit: (strokeFigureData(shot, gear, derived)?.curve ?? []).map(({ time, speed, acceleration }) => ({
      time: time / 1000,
      speed,
      acceleration,
    })),
    ball: ball.points,
    ballReason: ball.reason,
    derivation: `/v1/shots/${id}/derivation`,
  };
}

function cueSeries({ shot, gear, derived }: OverlaidInput): Series {
  if (shot.cueTrack === undefined || derived.firstContact === null)
    return { points: [], reason: 'no cue track was sent' };
  const track = scaleTrack(shot.cueTrack, Number.POSITIVE_INFINITY, derived.firstContact, settleGear(gear));
  if (track === null) return { points: [], reason: 'the rig has no scale' };
  return { points: aboutInstant(track.times, track.positions, 0), reason: null };
}

function ballSeries({ shot, gear, derived }: OverlaidInput): Series {
  if (shot.ballTrack === undefined) return { points: [], reason: 'no ball track was sent' };
  if (derived.ball === null || !derived.ball.read) return { points: [], reason: 'the ball track cannot be read' };
  const { impactTime } = derived.ball;
  if (impactTime === null) return { points: [], reason: 'the ball-ball impact is not on film' };
  const track = scaleBallTrack(shot.ballTrack, settleGear(gear)).scaled;
  if (track === null) return { points: [], reason: 'the ball track has no scale' };
  return { points: aboutInstant(track.times, track.positions, impactTime.value), reason: null };
}

/** Points with the instant at time zero and the place at that instant, between points on a line, at zero. */
function aboutInstant(times: Float64Array, positions: Float64Array, instant: number): OverlaidShot['cue'] {
  const origin = placeAt(times, positions, instant);
  const step = Math.max(1, Math.ceil(times.length / mostPoints));
  const points: { time: number; position: number }[] = [];
  for (let place = 0; place < times.length; place += step) {
    points.push({ time: (times[place] as number) - instant, position: (positions[place] as number) - origin });
  }
  return points;
}

/** By straight line between neighbours; the nearest end outside the track. */
function placeAt(times: Float64Array, positions: Float64Array, instant: number): number {
  let next = 0;
  while (next < times.length && (times[next] as number) < instant) next += 1;
  if (next === 0) return positions[0] ?? 0;
  const before = positions[next - 1] as number;
  if (next === times.length) return before;
  const from = times[next - 1] as number;
  return before + (((positions[next] as number) - before) * (instant - from)) / ((times[next] as number) - from);
}

function sentenceOf(shot: OverlaidShot): string {
  const values = [
    inWords('cueSpeed', shot.cueSpeed),
    inWords('cueAcceleration', shot.cueAcceleration),
    inWords('contactTime', shot.contactTime),
    inWords('tipOffset', shot.tipOffset),
    inWords('outcomeDistance', shot.outcomeDistance),
  ];
  return `${shot.label} of ${shot.lab}: ${values.join('; ')}.`;
}
