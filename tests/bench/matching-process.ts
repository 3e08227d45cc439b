/** Matches one seeded problem a few times and prints the median time and this process's memory as JSON. */
import { matchPairs } from '../../src/matching/match-pairs.ts';
import { matchingProblem, spreads } from './made/matching-points.ts';
import { medianTimes } from './measure.ts';
import type { MatchingFigures } from './rows/matching.ts';

const [spreadName, sizeText] = process.argv.slice(2);
const spread = spreads.find((name) => name === spreadName);
const size = Number(sizeText);
if (spread === undefined || !(size > 0)) throw new Error('Usage: matching-process.ts uniform|clustered SIZE');

const problem = matchingProblem(spread, size, 30);
const residentBefore = process.memoryUsage.rss();
let pairs = 0;
const { match } = await medianTimes(
  {
    match: () => {
      pairs = matchPairs(problem.first, problem.second, problem.calipers).pairs.length;
    },
  },
  { warmUp: 1, rounds: 5, seconds: 6, least: 2 },
);
const figures: MatchingFigures = {
  milliseconds: match,
  candidates: problem.candidates,
  pairs,
  residentBefore,
  residentPeak: 1024 * process.resourceUsage().maxRSS,
};
process.stdout.write(JSON.stringify(figures));
