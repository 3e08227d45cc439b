/**
 * How often do the 95 % intervals of fitTrack hold the truth, by family of strokes, capture rate and noise, and how
 * does the plain "value +- t * standard uncertainty" of the averaged orders compare? Prints a table.
 *
 *   npx tsx tests/studies/track-coverage.ts [tracks per row]
 */
import { fitTrack, interval95 } from '../../src/kinematics/fit-track.ts';
import { seededUniform, simulateTrack, strokeFamilies } from '../kinematics/simulated-strokes.ts';

const tracks = Number(process.argv[2] ?? 2000);
const settings = [
  [1000, 5e-5],
  [2000, 1e-4],
  [4000, 5e-5],
  [8000, 5e-5],
  [8000, 2e-5],
] as const;

const percent = (share: number) => `${(100 * share).toFixed(1)} %`.padStart(8);
console.log('family, frames/s, noise mm |   speed  accel. (interval) |   speed  accel. (averaged) | u(v)/rms u(a)/rms');
for (const family of strokeFamilies) {
  for (const [captureRate, noise] of settings) {
    const uniform = seededUniform(20_261);
    const inside = [0, 0, 0, 0];
    const squares = [0, 0, 0, 0];
    for (let n = 0; n < tracks; n += 1) {
      const track = simulateTrack(family, captureRate, noise, 0.04, uniform);
      const fit = fitTrack({ ...track, order: null, window: 0.04 });
      if (!fit.ok || fit.acceleration === null || fit.accelerationInterval === null) throw new Error('no fit');
      const speed = interval95(fit.speed, fit.speedInterval);
      const acceleration = interval95(fit.acceleration, fit.accelerationInterval);
      const speedError = track.speed - fit.speed;
      const accelerationError = track.acceleration - fit.acceleration;
      const accelerationUncertainty = fit.accelerationUncertainty ?? Number.NaN;
      const factor = fit.coverageFactor;
      [
        speed.lower <= track.speed && track.speed <= speed.upper,
        acceleration.lower <= track.acceleration && track.acceleration <= acceleration.upper,
        Math.abs(speedError) <= factor * fit.speedUncertainty,
        Math.abs(accelerationError) <= factor * accelerationUncertainty,
      ].forEach((hit, i) => {
        inside[i] = (inside[i] ?? 0) + Number(hit);
      });
      [speedError, accelerationError, fit.speedUncertainty, accelerationUncertainty].forEach((value, i) => {
        squares[i] = (squares[i] ?? 0) + value * value;
      });
    }
    const share = inside.map((count) => percent(count / tracks));
    const [v = 1, a = 1, uv = 0, ua = 0] = squares;
    const ratios = `${Math.sqrt(uv / v).toFixed(2)} ${Math.sqrt(ua / a).toFixed(2)}`;
    const row = `${family} ${captureRate} ${noise * 1000}`.padEnd(32);
    console.log(`${row} | ${share[0]} ${share[1]} | ${share[2]} ${share[3]} | ${ratios}`);
  }
}
