/**
 * Median times on one core for a track of 400 points: the whole derivation of a shot, the fit with its sensitivity
 * windows, and a bare fit of order 4 by ml-regression-polynomial for comparison.
 *
 *   npx tsx tests/bench/derive-track.ts
 */
import { PolynomialRegression } from 'ml-regression-polynomial';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { fitTrack } from '../../src/kinematics/fit-track.ts';
import { exampleGear, exampleShot } from '../derivation/example-shot.ts';
import { seededUniform, simulateTrack } from '../kinematics/simulated-strokes.ts';

const rounds = 3000;
const uniform = seededUniform(400);
const tracks = Array.from({ length: 50 }, () => simulateTrack('constantJerk', 8000, 5e-5, 0.065, uniform));
const shot = exampleShot();
const gear = exampleGear({ fit: { window: { value: 50, unit: 'ms' } } });

function median(work: (round: number) => unknown): number {
  for (let round = 0; round < rounds / 3; round += 1) work(round);
  const times = Array.from({ length: rounds }, (_, round) => {
    const begun = performance.now();
    work(round);
    return performance.now() - begun;
  });
  return times.sort((a, b) => a - b)[rounds / 2] ?? Number.NaN;
}

const trackOf = (round: number) => tracks[round % tracks.length] as (typeof tracks)[number];
const bare = median((round) => {
  const { times, positions } = trackOf(round);
  return new PolynomialRegression(Array.from(times.slice(-400)), Array.from(positions.slice(-400)), 4);
});
const fit = median((round) => fitTrack({ ...trackOf(round), order: null, window: 0.05 }));
const derivation = median(() => deriveShot(shot, gear));
const line = (name: string, value: number, budget: string) =>
  console.log(`${name.padEnd(52)} ${value.toFixed(3)} ms  ${(value / bare).toFixed(1)} x bare  ${budget}`);
line('bare fit of order 4, ml-regression-polynomial', bare, '');
line('fit of 400 points with sensitivity windows', fit, 'budget 1 ms');
line('whole derivation of a shot with 411 points', derivation, 'budget 1 ms with sensitivity windows');
