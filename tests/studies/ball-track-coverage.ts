/**
 * How often do the 95 % intervals from a ball track hold the truth, by capture rate and noise? Prints the table of
 * ball-track-coverage.md (some minutes on one core).
 *
 *   npx tsx tests/studies/ball-track-coverage.ts [shots per row] > tests/studies/ball-track-coverage.md
 */
import { fitBallTrack } from '../../src/kinematics/ball-track.ts';
import { covers, phasesSeen, randomBall, simulateBallTrack } from '../kinematics/simulated-ball-tracks.ts';

const shots = Number(process.argv[2] ?? 400);
const gravity = 9.80665;
const names = ['ball speed', 'arrival speed', 'outcome distance', 'sliding friction', 'rolling resistance'] as const;

/** Shares of covered truths among shots that meet, or do not meet, the assumption. */
function row(rate: number, noise: number, onFilm: boolean): string {
  const covered = names.map(() => 0);
  const given = names.map(() => 0);
  let used = 0;
  for (let seed = 0; used < shots && seed < 20 * shots; seed += 1) {
    const truth = randomBall(seed);
    if (phasesSeen(truth, rate, noise) !== onFilm) continue;
    used += 1;
    const { times, positions, arrivalSpeed, outcomeDistance } = simulateBallTrack(truth, rate, noise, seed);
    const fit = fitBallTrack({ times, positions, contactTime: null, impactTime: null, cushionDistance: null });
    const answers = [
      covers(fit.ballSpeed, truth.speed),
      covers(fit.impact?.arrivalSpeed, arrivalSpeed),
      covers(fit.outcomeDistance, outcomeDistance),
      covers(fit.deceleration.sliding, truth.slidingFriction * gravity),
      covers(fit.deceleration.rolling, truth.rollingFriction * gravity),
    ];
    answers.forEach((answer, i) => {
      if (answer === null) return;
      given[i] = (given[i] ?? 0) + 1;
      covered[i] = (covered[i] ?? 0) + Number(answer);
    });
  }
  const shares = names.map((_, i) =>
    (given[i] ?? 0) === 0 ? '-' : `${((100 * (covered[i] ?? 0)) / (given[i] ?? 1)).toFixed(1)} % of ${given[i]}`,
  );
  return `| ${rate} | ${noise * 1000} | ${onFilm ? 'yes' : 'no'} | ${used} | ${shares.join(' | ')} |`;
}

const lines = [
  '# Coverage of 95 % intervals from simulated ball tracks',
  '',
  'White noise; friction, speed, spin and distance at random (`randomBall`). Every phase on film: each slide and roll',
  'between blows lasts five frames and bends the track by ten standard deviations of a position (`phasesSeen`). Where it',
  'does not, a short phase may be fitted as part of its neighbour, and `slideToRoll` of the derivation does not name the',
  'break. The share is of the shots for which the number is given at all.',
  '',
  `| frames/s | noise, mm | every phase on film | shots | ${names.join(' | ')} |`,
  `|---|---|---|---|${names.map(() => '---').join('|')}|`,
];
for (const onFilm of [true, false]) {
  for (const rate of [30, 60, 120, 240]) for (const noise of [5e-4, 2e-3]) lines.push(row(rate, noise, onFilm));
}
process.stdout.write(`${lines.join('\n')}\n`);
