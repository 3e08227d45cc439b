/**
 * Which uncertainty of speed and acceleration belongs into a correction for measurement error? Prints the table of
 * acceleration-errors.md.
 *
 *   npx tsx tests/studies/acceleration-errors.ts [tracks per row] > tests/studies/acceleration-errors.md
 */
import { strokeFamilies } from '../kinematics/simulated-strokes.ts';
import { errorSizes } from './acceleration-error-cells.ts';

const tracks = Number(process.argv[2] ?? 1500);
const conditions = [
  [1000, 5e-5],
  [4000, 5e-5],
  [2000, 2e-4],
  [8000, 5e-5],
] as const;
const digits = (value: number) => value.toPrecision(3);

console.log('# Errors of averaged speeds and accelerations\n');
console.log(
  `\`npx tsx tests/studies/acceleration-errors.ts ${tracks}\`: ${tracks} simulated tracks a row, orders 2 to 4 averaged,`,
);
console.log(
  'window 40 ms. Root mean squares of the true error of the value, of its stated standard uncertainty, and of half its',
);
console.log(
  '95 % interval over 1.96. The stated uncertainty is that of the value, a little on the safe side; the interval is that',
);
console.log(
  'of the highest order and wider by design. A slope is shrunk by the error that the values have, so the stated',
);
console.log('uncertainty is the one to correct with: the interval would correct too much.\n');
console.log(
  '| stroke | frames/s | noise mm | acceleration error | stated | interval | speed error | stated | interval |',
);
console.log('|---|---|---|---|---|---|---|---|---|');
for (const family of strokeFamilies) {
  for (const [captureRate, noise] of conditions) {
    const { speed, acceleration } = errorSizes({ family, captureRate, noise }, tracks, 5);
    const numbers = [acceleration, speed].flatMap(({ error, stated, interval }) =>
      [error, stated, interval].map(digits),
    );
    console.log(`| ${[family, captureRate, noise * 1000, ...numbers].join(' | ')} |`);
  }
}
