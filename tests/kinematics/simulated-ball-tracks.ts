/**
 * Simulated ball tracks with known answers: at rest, struck, sliding and rolling to the object ball, hit, and on to rest.
 * The motion is integrated phase by phase from friction alone. Only for tests and studies.
 */
import type { Uncertain } from '../../src/kinematics/uncertain.ts';
import { studentQuantile } from '../../src/statistics/distributions.ts';
import { normalDeviates, seededUniform } from './simulated-strokes.ts';

const gravity = 9.80665;

export interface BallTruth {
  readonly slidingFriction: number;
  readonly rollingFriction: number;
  /** Off the tip: speed and surface spin, m/s. */
  readonly speed: number;
  readonly spin: number;
  /** m to the object ball. */
  readonly distance: number;
  /** Ball-ball restitution. */
  readonly restitution: number;
}

export interface SimulatedBallTrack {
  readonly times: Float64Array;
  readonly positions: Float64Array;
  readonly impactTime: number;
  readonly arrivalSpeed: number;
  readonly outcomeDistance: number;
}

interface Phase {
  readonly start: number;
  readonly place: number;
  readonly speed: number;
  readonly acceleration: number;
}

/** Phases from a motion until rest, or until `reach` m are gone. */
function phasesOf(start: number, place: number, speed: number, spin: number, truth: BallTruth): Phase[] {
  const sense = Math.sign(speed - spin);
  const slide = truth.slidingFriction * gravity;
  const phases: Phase[] = [{ start, place, speed, acceleration: -sense * slide }];
  const slideTime = (2 * Math.abs(speed - spin)) / (7 * slide);
  const roll = speed - sense * slide * slideTime;
  const rollPlace = place + speed * slideTime - (sense * slide * slideTime * slideTime) / 2;
  const resistance = truth.rollingFriction * gravity;
  const rollTime = Math.abs(roll) / resistance;
  phases.push({ start: start + slideTime, place: rollPlace, speed: roll, acceleration: -Math.sign(roll) * resistance });
  phases.push({
    start: start + slideTime + rollTime,
    place: rollPlace + (roll * rollTime) / 2,
    speed: 0,
    acceleration: 0,
  });
  return phases;
}

function stateAt(phases: readonly Phase[], time: number) {
  let phase = phases[0] as Phase;
  for (const next of phases) if (next.start <= time) phase = next;
  const t = time - phase.start;
  return {
    place: phase.place + phase.speed * t + (phase.acceleration * t * t) / 2,
    speed: phase.speed + phase.acceleration * t,
  };
}

/** The noiseless motion: position at any time, struck at time 0. */
export function ballMotion(truth: BallTruth) {
  const before = phasesOf(0, 0, truth.speed, truth.spin, truth);
  let early = 0;
  let late = 10;
  for (let step = 0; step < 80; step += 1) {
    const middle = (early + late) / 2;
    if (stateAt(before, middle).place < truth.distance) early = middle;
    else late = middle;
  }
  const impactTime = (early + late) / 2;
  const arrivalSpeed = stateAt(before, impactTime).speed;
  // While sliding the spin gains 5/2 of what the speed loses; when rolling both are equal.
  const rolling = impactTime >= (before[1] as Phase).start;
  const arrivalSpin = rolling ? arrivalSpeed : truth.spin + 2.5 * (truth.speed - arrivalSpeed);
  const after = phasesOf(impactTime, truth.distance, (arrivalSpeed * (1 - truth.restitution)) / 2, arrivalSpin, truth);
  const rest = after[2] as Phase;
  return {
    impactTime,
    arrivalSpeed,
    breakBefore: (before[1] as Phase).start,
    breakAfter: (after[1] as Phase).start,
    restTime: rest.start,
    outcomeDistance: rest.place - truth.distance,
    place: (time: number) => (time < 0 ? 0 : stateAt(time < impactTime ? before : after, time).place),
  };
}

/**
 * Whether the film shows what the fit assumes: every phase between blows lasts for five frames and long enough that
 * its parabola leaves the neighbouring one by twenty standard deviations, and the ball reaches the object ball.
 */
export function phasesSeen(truth: BallTruth, rate: number, noise: number): boolean {
  const motion = ballMotion(truth);
  const least = Math.max(5 / rate, Math.sqrt((2 * 20 * noise) / (truth.slidingFriction * gravity)));
  const { breakBefore, breakAfter, impactTime, restTime } = motion;
  const early = breakBefore < impactTime ? [breakBefore, impactTime - breakBefore] : [impactTime];
  return [...early, breakAfter - impactTime, restTime - breakAfter].every((length) => length >= least);
}

/** Filmed at `rate` frames/s with a random phase and white noise of `noise` m; a few frames of rest at both ends. */
export function simulateBallTrack(truth: BallTruth, rate: number, noise: number, seed: number): SimulatedBallTrack {
  const uniform = seededUniform(seed);
  const normal = normalDeviates(uniform);
  const motion = ballMotion(truth);
  const phase = uniform();
  const lead = Math.max(6, Math.round(0.15 * rate));
  const count = lead + Math.ceil((motion.restTime + 0.5) * rate);
  const times = Float64Array.from({ length: count }, (_, i) => (i - lead + phase) / rate);
  return {
    times,
    positions: times.map((time) => 0.3 + motion.place(time) + noise * normal()),
    impactTime: motion.impactTime,
    arrivalSpeed: motion.arrivalSpeed,
    outcomeDistance: motion.outcomeDistance,
  };
}

/** A shot of an ordinary table: speed, spin, friction and distance at random. */
export function randomBall(seed: number): BallTruth {
  const uniform = seededUniform(seed);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const speed = between(1.8, 4);
  return {
    slidingFriction: between(0.15, 0.3),
    rollingFriction: between(0.007, 0.015),
    speed,
    spin: 2.5 * between(-0.45, 0.4) * speed,
    distance: between(0.6, 1.2),
    restitution: between(0.9, 0.97),
  };
}

/** Whether the 95 % interval holds the truth; null when there is none. */
export function covers(found: Uncertain | null | undefined, truth: number): boolean | null {
  if (found === null || found === undefined) return null;
  const half = studentQuantile(0.975, Math.min(found.degrees, 1e5)) * found.standardUncertainty;
  return Math.abs(found.value - truth) <= half;
}
