/**
 * One condition of the coverage study of ball tracks: shots simulated with known answers, and the share of them in which
 * the 95 % interval of each result holds the truth.
 */
import { fitBallTrack } from '../../src/kinematics/ball-track.ts';
import { covers, phasesSeen, randomBall, simulateBallTrack } from '../kinematics/simulated-ball-tracks.ts';

export const ballResultNames = [
  'ball speed',
  'arrival speed',
  'outcome distance',
  'sliding friction',
  'rolling resistance',
] as const;
export type BallResultName = (typeof ballResultNames)[number];

export interface BallCoverage {
  readonly shots: number;
  /** Shots for which the result is given at all, and the share of them whose interval holds the truth. */
  readonly results: Readonly<Record<BallResultName, { readonly given: number; readonly share: number }>>;
  /** Share of shots with the flag ballPhaseShort. */
  readonly flagged: number;
}

const gravity = 9.80665;

/**
 * @param rate frames per second; `noise` standard deviation of a position, m
 * @param onFilm whether to take the shots whose every phase is on film, or those that lack one
 */
export function ballCoverageOf(rate: number, noise: number, onFilm: boolean, shots: number): BallCoverage {
  const tally = ballResultNames.map(() => ({ covered: 0, given: 0 }));
  let used = 0;
  let flagged = 0;
  for (let seed = 0; used < shots && seed < 40 * shots; seed += 1) {
    const truth = randomBall(seed);
    if (phasesSeen(truth, rate, noise) !== onFilm) continue;
    used += 1;
    const { times, positions, arrivalSpeed, outcomeDistance } = simulateBallTrack(truth, rate, noise, seed);
    const fit = fitBallTrack({ times, positions, contactTime: null, impactTime: null, cushionDistance: null });
    flagged += Number(!fit.everyPhaseShown);
    const answers = [
      covers(fit.ballSpeed, truth.speed),
      covers(fit.impact?.arrivalSpeed, arrivalSpeed),
      covers(fit.outcomeDistance, outcomeDistance),
      covers(fit.deceleration.sliding, truth.slidingFriction * gravity),
      covers(fit.deceleration.rolling, truth.rollingFriction * gravity),
    ];
    answers.forEach((answer, i) => {
      const line = tally[i];
      if (answer === null || line === undefined) return;
      line.given += 1;
      line.covered += Number(answer);
    });
  }
  const shares = ballResultNames.map((name, i) => {
    const { covered = 0, given = 0 } = tally[i] ?? {};
    return [name, { given, share: covered / given }];
  });
  return { shots: used, results: Object.fromEntries(shares) as BallCoverage['results'], flagged: flagged / used };
}
