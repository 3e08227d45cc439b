/**
 * How often do the 95 % intervals of a pooled slope hold the true mean slope, with 3 to 12 labs whose slopes are equal or
 * differ with a standard deviation of 0.15 about 1? Prints the table that is kept in regression-coverage.md.
 *
 *   npx tsx tests/studies/regression-coverage.ts [pools per cell] > tests/studies/regression-coverage.md
 */
import { methods, pooledCoverage } from './pooled-slopes.ts';

const pools = Number(process.argv[2] ?? 2000);
const labCounts = [3, 5, 8, 12];
const deviations = [
  [0, 'equal slopes'],
  [0.15, 'slope SD 0.15'],
] as const;

const cells = deviations.flatMap(([deviation, title]) =>
  labCounts.map((labs, place) => ({
    title: `${title}, ${labs} labs`,
    found: pooledCoverage(labs, deviation, pools, 20_000 + 100 * place + Math.round(1000 * deviation)),
  })),
);
console.log('# Coverage of the intervals of a pooled slope\n');
console.log(
  `\`npx tsx tests/studies/regression-coverage.ts ${pools}\`: share of ${pools} simulated pools whose nominal 95 %`,
);
console.log(
  'interval holds the truth (median width). Labs differ in size, in the speeds they play and in a level that goes',
);
console.log(
  `with those speeds. Monte Carlo standard error at 95 %: ${Math.sqrt((0.95 * 0.05) / pools).toFixed(4)}. \`tests/studies/pooled-slopes.test.ts\``,
);
console.log('repeats a part of it in the suite.\n');
console.log(`| method | ${cells.map(({ title }) => title).join(' | ')} |`);
console.log(`|---|${cells.map(() => '---').join('|')}|`);
for (const method of methods) {
  const row = cells.map(({ found }) => `${found.held[method].toFixed(3)} (${found.medianWidth[method].toFixed(2)})`);
  console.log(`| ${method} | ${row.join(' | ')} |`);
}
