/**
 * How often does the equivalence verdict err at the margin, how often does it find what is there, and how often do the
 * intervals hold the truth? Prints the table that is kept in verdict-rates.md.
 *
 *   npx tsx tests/studies/verdict-rates.ts [experiments per cell] > tests/studies/verdict-rates.md
 */
import { verdictCells, verdictRates } from './matched-verdicts.ts';

const experiments = Number(process.argv[2] ?? 2000);
const percent = (share: number): string => (100 * share).toFixed(1);

console.log('# Rates of the verdicts of matched comparisons\n');
console.log(
  `\`npx tsx tests/studies/verdict-rates.ts ${experiments}\`: share (%) of ${experiments} simulated experiments, margin 3 cm, noise 2 cm a shot,`,
);
console.log(
  'confidence 95 %. Inside: the verdict places the difference inside the margin; at a true effect of 3 cm that is an error',
);
console.log(
  'and may happen in at most 5 %. Intervals: share that holds the mean true effect. Quoted: adjusted, clustered by lab',
);
console.log(
  `from three labs on. Monte Carlo standard error at 5 %: ${percent(Math.sqrt((0.05 * 0.95) / experiments))}. \`tests/studies/matched-verdicts.test.ts\` repeats a part in the suite.\n`,
);
console.log(
  '| labs | shots a lab | pairs | SD between labs, cm | true effect, cm | inside | beyond | quoted | pairs independent | raw | Hodges-Lehmann |',
);
console.log('|---|---|---|---|---|---|---|---|---|---|---|');
verdictCells.forEach((cell, place) => {
  const found = verdictRates(cell, experiments, 7000 + 31 * place);
  const figures = [found.within, found.beyond, found.quoted, found.independent, found.raw, found.hodgesLehmann];
  const row = [
    cell.labs,
    cell.shotsPerLab,
    found.meanPairs.toFixed(1),
    100 * cell.between,
    100 * cell.effect,
    ...figures.map(percent),
  ];
  console.log(`| ${row.join(' | ')} |`);
});
