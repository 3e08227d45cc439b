/**
 * How often do the 95 % intervals of speed and acceleration hold the truth, by capture rate, noise, serial correlation,
 * order and window? Prints the table of track-coverage.md (about half a minute on one core).
 *
 *   npx tsx tests/studies/track-coverage.ts [tracks per row] > tests/studies/track-coverage.md
 */
import { strokeFamilies } from '../kinematics/simulated-strokes.ts';
import { assumptionsHold, type CoverageCell, coverageOf } from './coverage-cell.ts';

const tracks = Number(process.argv[2] ?? 2000);

function cells(): CoverageCell[] {
  const list: CoverageCell[] = [];
  for (const captureRate of [1000, 2000, 8000]) {
    for (const window of [0.02, 0.04]) {
      for (const autoregression of [0, 0.3, 0.6]) {
        for (const order of [null, 3]) {
          list.push({ family: 'constantJerk', captureRate, noise: 5e-5, autoregression, order, window });
        }
      }
    }
  }
  for (const noise of [2e-5, 2e-4]) {
    for (const captureRate of [1000, 8000]) {
      list.push({ family: 'constantJerk', captureRate, noise, autoregression: 0, order: null, window: 0.04 });
    }
  }
  for (const family of strokeFamilies) {
    for (const captureRate of [1000, 4000]) {
      for (const order of [null, 2, 4]) {
        list.push({ family, captureRate, noise: 5e-5, autoregression: 0, order, window: 0.04 });
      }
    }
  }
  // The order that a rig most often fixes, on strokes that no cubic follows to the end: the more frames, the further the
  // shrinking interval leaves the bias behind. At the end, so that the rows before keep their seeds.
  for (const family of ['swing', 'fromRest'] as const) {
    for (const captureRate of [1000, 4000, 8000]) {
      list.push({ family, captureRate, noise: 5e-5, autoregression: 0, order: 3, window: 0.04 });
    }
  }
  return list;
}

const percent = (share: number) => (100 * share).toFixed(1);
const text = `# Coverage of the 95 % intervals of cue speed and cue acceleration

Written by tests/studies/track-coverage.ts: ${tracks} simulated tracks a row, seed 20261 + row number. \`holds\`: the
polynomial can follow the stroke, and the noise is white, or autoregressive with enough points (16, and 8 independent
ones, for each coefficient). Where it holds the shares lie between 93 and 97 %. \`flagged\`: tracks with the flag
serialCorrelation, fitSensitive or intervalNotAssured under method version 2. The last is raised wherever the track itself
cannot show that the interval holds, so also on tracks whose noise happens to be white or whose stroke happens to be a
polynomial of the order that the rig fixed. \`by sight\`: tracks flagged for what they show, without intervalNotAssured.
With 2000 tracks a share of 95 % is known within 0.5 %.
`;
console.log(text);
console.log(
  '| stroke | frames/s | window ms | noise mm | phi | order | holds | speed % | acceleration % | flagged % | by sight % |',
);
console.log('|---|---|---|---|---|---|---|---|---|---|---|');
cells().forEach((cell, row) => {
  const { speed, acceleration, flagged, flaggedBySight } = coverageOf(cell, tracks, 20_261 + row);
  const values = [
    cell.family,
    cell.captureRate,
    cell.window * 1000,
    cell.noise * 1000,
    cell.autoregression,
    cell.order ?? '2 to 4',
    assumptionsHold(cell) ? 'yes' : 'no',
    percent(speed),
    percent(acceleration),
    percent(flagged),
    percent(flaggedBySight),
  ];
  console.log(`| ${values.join(' | ')} |`);
});
