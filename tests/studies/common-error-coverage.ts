/**
 * How often do the 95 % intervals of a pooled slope hold the truth when the scale of every rig is wrong by a factor that all
 * its shots share? With what the rigs state in the answer, and without. Prints the table of common-error-coverage.md.
 *
 *   npx tsx tests/studies/common-error-coverage.ts [pools per cell] > tests/studies/common-error-coverage.md
 */
import { type CommonErrorCell, commonErrorCoverage, type Question, questions } from './common-error-pools.ts';

const pools = Number(process.argv[2] ?? 300);
const cells: CommonErrorCell[] = [
  { labs: 1, scale: 0.05, slopeDeviation: 0 },
  ...[3, 5, 8, 12].map((labs) => ({ labs, scale: 0.05, slopeDeviation: 0 })),
  ...[3, 12].map((labs) => ({ labs, scale: 0.003, slopeDeviation: 0 })),
  ...[3, 12].map((labs) => ({ labs, scale: 0.05, slopeDeviation: 0.15 })),
];
const names = Object.keys(questions) as Question[];
const percent = (share: number) => (100 * share).toFixed(1);

console.log('# Coverage of pooled slopes when rigs err in common\n');
console.log(
  `\`npx tsx tests/studies/common-error-coverage.ts ${pools}\`: share of ${pools} simulated pools whose nominal 95 % interval`,
);
console.log(
  'holds the true mean slope, in per cent: with the common errors that the rigs state / without them. Each lab has',
);
console.log(
  `one rig and 60 shots. Monte Carlo standard error at 95 %: ${(100 * Math.sqrt((0.95 * 0.05) / pools)).toFixed(1)}. Where labs or`,
);
console.log(
  'players are compared, their spread shows part of the common error by itself; where slopes differ between labs,',
);
console.log('intervals that take them as equal fail for that reason. A lab alone has classical errors in every row.\n');
console.log(`| labs | scale | slope SD | ${names.join(' | ')} |`);
console.log(`|---|---|---|${names.map(() => '---').join('|')}|`);
cells.forEach((cell, place) => {
  // A lab alone has nothing between labs; the search for variances takes long with many labs and shows nothing new.
  const asked = names.filter((name) => {
    if (cell.labs === 1) return name.startsWith('lab-fixed');
    return cell.labs <= 5 || !name.startsWith('random');
  });
  const found = commonErrorCoverage(cell, asked, pools, 31_000 + place);
  const columns = names.map((name) => {
    const each = found.get(name);
    return each === undefined ? '' : `${percent(each.stated)} / ${percent(each.ignored)}`;
  });
  console.log(`| ${cell.labs} | ${100 * cell.scale} % | ${100 * cell.slopeDeviation} % | ${columns.join(' | ')} |`);
});
