/**
 * Worked values of the shot model to six digits. Each was computed twice before it was written down here, by a closed
 * form and by direct numerical integration or brute force; the tests of src/physics integrate again.
 *
 * Textbook values [seen in worked exercises]: a ball hit at 4R/5 above centre ends at 9/7 of its first speed; one hit at
 * 2R/3 below centre rolls after 16 v0 / (21 mu g) with 5/21 of it.
 */
import { describe, expect, it } from 'vitest';
import { aicc } from '../../src/kinematics/akaike.ts';
import { contactTime } from '../../src/kinematics/contact-time.ts';
import {
  derivativesAt,
  fitPolynomial,
  leverage,
  residualDegreesOfFreedom,
} from '../../src/kinematics/fit-polynomial.ts';
import { fitTrack } from '../../src/kinematics/fit-track.ts';
import { motionAfterTravel, rollToRest, slideToRoll } from '../../src/physics/ball-on-cloth.ts';
import { bilinearContact, powerLawPrefactor } from '../../src/physics/contact-duration.ts';
import { cueImpact, effectiveMass } from '../../src/physics/cue-impact.ts';
import { energyFractionImpact, energyKept, restitutionAtOffset } from '../../src/physics/energy-fraction-impact.ts';
import { fullHit } from '../../src/physics/full-hit.ts';
import { effectiveCueMass, restitutionFromSpeeds } from '../../src/physics/impact-inversion.ts';
import { distanceToRest, expectedOutcome } from '../../src/physics/outcome-distance.ts';
import { deepestUsefulStop, leastStopSpeed, stopShot } from '../../src/physics/stop-shot.ts';
import { tipContact } from '../../src/physics/tip-geometry.ts';
import { domeLimit, levelCueClearance, miscueLimit } from '../../src/physics/tip-limits.ts';
import { expectRelative, significantDigits } from '../harness/expect-relative.ts';

const sixDigits = significantDigits(6);
const radius = 0.028575;
const gear = { cueMass: 0.54, ballMass: 0.17, ballRadius: radius, restitution: 0.75 };
const table = {
  slidingFriction: 0.2,
  rollingFriction: 0.01,
  ballRestitution: 0.95,
  ballFriction: 0,
  cueBallMass: 0.17,
  objectBallMass: 0.17,
};
const equalBalls = { cueBallMass: 0.17, objectBallMass: 0.17 };

function expectValues(actual: Record<string, number>, expected: Record<string, number>): void {
  for (const [name, value] of Object.entries(expected)) {
    expectRelative(actual[name] as number, value, sixDigits, name);
  }
}

describe('cue against ball', () => {
  it('E1: central hit at 3 m/s', () => {
    const impact = cueImpact({ ...gear, cueSpeed: 3, tipOffset: 0 });
    expectValues(
      { ...impact },
      { ballSpeed: 3.99296, cueSpeedAfter: 1.74296, impulse: 0.678803, energyLost: 0.254551 },
    );
    const contact = bilinearContact(effectiveMass(0.54, 0.17, 0), 6.5e5, 0.75, 3);
    expectValues({ ...contact }, { duration: 1.22601e-3, greatestForce: 869.701 });
  });

  it('E2: the same at 0.4 R below centre, and its inversions', () => {
    const impact = cueImpact({ ...gear, cueSpeed: 3, tipOffset: -0.4 });
    expectValues(
      { ...impact },
      {
        ballSpeed: 3.06156,
        surfaceSpin: -3.06156,
        spinRate: -107.141,
        cueSpeedAfter: 2.03618,
        impulse: 0.520464,
        energyLost: 0.195174,
      },
    );
    const contact = bilinearContact(effectiveMass(0.54, 0.17, -0.4), 6.5e5, 0.75, 3);
    expectValues({ ...contact }, { duration: 1.07354e-3, greatestForce: 761.542 });
    const { ballSpeed, cueSpeedAfter } = impact;
    expectRelative(restitutionFromSpeeds(3, cueSpeedAfter, ballSpeed, -0.4), 0.75, sixDigits);
    expectRelative(effectiveCueMass(3, cueSpeedAfter, ballSpeed, 0.17), 0.54, sixDigits);
  });

  it('E3: constant share of energy instead of constant restitution', () => {
    expectRelative(energyKept(0.54, 0.17, 0.75), 0.895246, sixDigits);
    const central = energyFractionImpact({ ...gear, cueSpeed: 3, tipOffset: 0 });
    const low = energyFractionImpact({ ...gear, cueSpeed: 3, tipOffset: -0.4 });
    expectRelative(central?.ballSpeed ?? Number.NaN, 3.99296, sixDigits);
    expectRelative(low?.ballSpeed ?? Number.NaN, 2.89586, sixDigits);
    expectRelative(restitutionAtOffset(0.54, 0.17, 0.75, -0.4) ?? Number.NaN, 0.655287, sixDigits);
  });

  it('prefactors of a linear and of a stiffening tip: pi and 2.94328', () => {
    expectRelative(powerLawPrefactor(1), Math.PI, 1e-13);
    expectRelative(powerLawPrefactor(1.5), 2.94328, sixDigits);
  });
});

describe('ball on the cloth', () => {
  it.each([
    ['E4a', 0, 0.582695, 2.85714, 1.99781, 43.6189, 29.7174],
    ['E4b', -4, 1.16539, 1.71429, 3.32969, 18.3133, 18.6462],
  ] as const)('%s: 4 m/s with spin %f m/s', (_, surfaceSpin, time, rollSpeed, distance, total, totalTime) => {
    const slide = slideToRoll({ speed: 4, surfaceSpin }, 0.2);
    const roll = rollToRest(slide.rollSpeed, 0.01);
    expectValues({ ...slide }, { time, rollSpeed, distance });
    expectRelative(slide.distance + roll.distance, total, sixDigits);
    expectRelative(slide.time + roll.time, totalTime, sixDigits);
  });

  it('ends at 9/7 of its first speed when hit at 4R/5 above centre', () => {
    expectRelative(slideToRoll({ speed: 1, surfaceSpin: 2.5 * 0.8 }, 0.2).rollSpeed, 9 / 7, 1e-15);
  });

  it('rolls after 16 v0 / (21 mu g) with 5/21 of its speed when hit at 2R/3 below centre', () => {
    const slide = slideToRoll({ speed: 1, surfaceSpin: (-2.5 * 2) / 3 }, 0.2);
    expectRelative(slide.rollSpeed, 5 / 21, 1e-14);
    expectRelative(slide.time, 16 / (21 * 0.2 * 9.80665), 1e-14);
  });

  it('E5a: stop shot over 1.2 m at 3 m/s', () => {
    const stop = stopShot(3, 1.2, 0.2);
    if (stop === null) throw new Error('no stop shot');
    expectValues({ ...stop }, { tipOffset: -0.309364, arrivalSpeed: 2.07191, time: 0.473195 });
    expectRelative(stop.tipOffset * radius, -8.84006e-3, sixDigits);
    const arrival = motionAfterTravel({ speed: 3, surfaceSpin: 2.5 * 3 * stop.tipOffset }, 1.2, 0.2, 0.01);
    expect(Math.abs(arrival?.surfaceSpin ?? Number.NaN)).toBeLessThan(1e-14);
  });

  it('E5c: slowest stop shot with tip offsets down to half a radius; deepest useful tip offset', () => {
    expectRelative(leastStopSpeed(1.2, 0.5, 0.2), 2.50525, sixDigits);
    expectRelative(deepestUsefulStop(0.54, 0.17), 0.357578, sixDigits);
    expect(stopShot(2.1, 1.2, 0.2)).toBeNull();
  });
});

describe('full hit and outcome', () => {
  it('E6a: backspin, perfectly elastic', () => {
    const hit = fullHit({ cueBall: { speed: 2.5, surfaceSpin: -2 }, ...equalBalls, restitution: 1, friction: 0 });
    expect(hit.cueBall.speed).toBe(0);
    expect(hit.objectBall.speed).toBe(2.5);
    expectValues({ ...slideToRoll(hit.cueBall, 0.2) }, { distance: -0.0832421, rollSpeed: -0.571429 });
    expectRelative(distanceToRest(hit.cueBall, table), -1.74808, sixDigits);
  });

  it('E6b: the same with restitution 0.95 and friction 0.06 between the balls', () => {
    const hit = fullHit({ cueBall: { speed: 2.5, surfaceSpin: -2 }, ...equalBalls, restitution: 0.95, friction: 0.06 });
    expectValues({ ...hit.cueBall }, { speed: 0.0625, surfaceSpin: -1.634375 });
    expectValues({ ...hit.objectBall }, { speed: 2.4375, surfaceSpin: 0.365625 });
    expectValues({ ...slideToRoll(hit.cueBall, 0.2) }, { distance: -0.0444722, rollSpeed: -0.422321 });
    expectRelative(distanceToRest(hit.cueBall, table), -0.953832, sixDigits);
  });

  it('E7a: a rolling cue ball follows', () => {
    const hit = fullHit({ cueBall: { speed: 2, surfaceSpin: 2 }, ...equalBalls, restitution: 0.95, friction: 0 });
    expectRelative(hit.cueBall.speed, 0.05, sixDigits);
    expectValues({ ...slideToRoll(hit.cueBall, 0.2) }, { distance: 0.0933352, rollSpeed: 0.607143 });
    expectRelative(distanceToRest(hit.cueBall, table), 1.97279, sixDigits);
  });

  it('E8a: the whole chain, 3 m/s at 0.4 R below centre over 0.8 m', () => {
    const start = cueImpact({ ...gear, cueSpeed: 3, tipOffset: -0.4 });
    const outcome = expectedOutcome({ speed: start.ballSpeed, surfaceSpin: start.surfaceSpin }, 0.8, table);
    if (outcome === null) throw new Error('no hit');
    expectValues({ ...outcome.arrival }, { speed: 2.497, surfaceSpin: -1.65016 });
    expectRelative(outcome.hit.cueBall.speed, 0.0624249, sixDigits);
    expectRelative(outcome.hit.objectBall.speed, 2.43457, sixDigits);
    expectRelative(outcome.outcomeDistance, -0.97458, sixDigits);
  });
});

describe('tip geometry', () => {
  const shape = { ballRadius: radius, tipRadius: 0.0106, shaftRadius: 0.0065 };
  const reading = { method: 'shaftTopEdge', station: 0.045 } as const;

  it('E9a: level cue', () => {
    const contact = tipContact({ ...reading, topEdge: -0.01 }, { ...shape, elevation: 0 });
    if (!contact.ok) throw new Error(contact.reason);
    expectRelative(contact.tipOffset, -0.421187, sixDigits);
    // Distance of the cue axis from the ball centre.
    expectRelative(contact.tipOffset * (radius + 0.0106), -16.5e-3, sixDigits);
    expectRelative(contact.tipHeight, -12.0354e-3, sixDigits);
    expectRelative((Math.asin(contact.tipOffset) * 180) / Math.PI, -24.9095, sixDigits);
  });

  it('E9b: three degrees of elevation, with its sensitivities and uncertainty', () => {
    const contact = tipContact({ ...reading, topEdge: -0.005 }, { ...shape, elevation: Math.PI / 60 });
    if (!contact.ok) throw new Error(contact.reason);
    expectValues(
      { tipOffset: contact.tipOffset, tipHeight: contact.tipHeight },
      { tipOffset: -0.353498, tipHeight: -8.6884e-3 },
    );
    expectRelative(contact.tipOffset * radius, -10.1012e-3, sixDigits);
    expectRelative(contact.tipOffset * (radius + 0.0106), -13.8483e-3, sixDigits);
    expectRelative((Math.asin(contact.tipOffset) * 180) / Math.PI, -20.7014, sixDigits);

    const byInput = new Map(contact.sensitivities.map((line) => [line.input, line.tipOffset * radius]));
    expect(byInput.get('topEdge')?.toFixed(3)).toBe('0.728');
    expect(byInput.get('shaftRadius')?.toFixed(3)).toBe('-0.729');
    expect(byInput.get('tipRadius')?.toFixed(3)).toBe('0.258');
    // Metres per radian = millimetres per milliradian; in mm per degree:
    expect((((byInput.get('elevation') ?? 0) * 1000 * Math.PI) / 180).toFixed(3)).toBe('-0.569');
    expect((-(byInput.get('station') ?? 0)).toFixed(3)).toBe('0.038');
    const uncertainties = { topEdge: 0.15, shaftRadius: 0.05, tipRadius: 0.5, station: 0.3 } as const;
    let variance = (((byInput.get('elevation') ?? 0) * 1000 * 0.3 * Math.PI) / 180) ** 2;
    for (const [input, u] of Object.entries(uncertainties)) {
      variance += ((byInput.get(input as keyof typeof uncertainties) ?? 0) * u) ** 2;
    }
    expect(Math.sqrt(variance).toFixed(3)).toBe('0.243');
  });

  it('limits: dome, level-cue clearance, friction at the tip', () => {
    expectRelative(domeLimit(0.013, 0.0106), 6.5 / 10.6, 1e-15);
    expect(levelCueClearance(radius, 0.013, 0.0106).toFixed(3)).toBe('-0.563');
    expect([0.5, 0.6, 0.7].map((mu) => miscueLimit(mu).toFixed(3))).toEqual(['0.447', '0.514', '0.573']);
  });
});

describe('measurement', () => {
  it('E10: nine frames at 8000 per second', () => {
    const contact = contactTime({
      contactFrames: 9,
      trimmedStart: 0,
      trimmedEnd: 0,
      trimMeaning: 'undecided',
      captureRate: 8000,
      exposure: null,
      exposureCriterion: 'unknown',
    });
    expect(contact.value).toBe(1.125e-3);
    expectRelative(contact.standardUncertainty, 51.031e-6, sixDigits);
    expectRelative(contact.least, 1e-3, 1e-14);
    expectRelative(contact.most, 1.25e-3, 1e-14);
    expectRelative(contact.upper - contact.value, 97.0491e-6, sixDigits);
    expectRelative(contact.value - contact.lower, 97.0491e-6, sixDigits);
  });

  it('E11: noise at the end of a window of 41 points, orders 1 to 4', () => {
    const times = Float64Array.from({ length: 41 }, (_, i) => (i - 40) * 1e-3);
    const speeds = [6.59955e-4, 2.58238e-3, 6.26538e-3, 1.20748e-2];
    const accelerations = [0, 0.124831, 0.733141, 2.49974];
    for (let order = 1; order <= 4; order += 1) {
      const { covariance } = derivativesAt(fitPolynomial(times, times, order), 0, 2, 5e-5 ** 2);
      expectRelative(Math.sqrt(covariance[4] as number), speeds[order - 1] as number, sixDigits);
      expectRelative(Math.sqrt(covariance[8] as number), accelerations[order - 1] as number, sixDigits);
    }
  });

  describe('E14: a track with speed 2.8, acceleration 25, jerk 800 at its end', () => {
    const times = Float64Array.from({ length: 41 }, (_, i) => (i - 40) * 1e-3);
    const positions = times.map(
      (t, i) => 0.1 + 2.8 * t + 12.5 * t ** 2 + (800 / 6) * t ** 3 + 5e-5 * Math.sin(7 * i * i),
    );

    it.each([
      [1, 2.49292, 0, 1.38883e-5, -604.171, 1.58582e-5, 7.87657e-3, 0],
      [2, 2.67014, 8.86096, 1.29168e-6, -699.088, 1.63665e-6, 9.52216e-3, 0.460298],
      [3, 2.79721, 24.943, 5.28112e-8, -827.56, 6.28854e-8, 4.73413e-3, 0.553962],
      [4, 2.80653, 27.1006, 5.07735e-8, -826.417, 6.28894e-8, 9.06937e-3, 1.87755],
      [5, 2.80953, 28.2029, 5.06882e-8, -823.563, 6.58876e-8, 1.54054e-2, 4.92408],
    ] as const)('order %i', (order, speed, acceleration, rss, criterion, press, uSpeed, uAcceleration) => {
      const fit = fitPolynomial(times, positions, order);
      const sum = fit.residualSumsOfSquares[order] as number;
      const { values, covariance } = derivativesAt(fit, 0, 2);
      let predicted = 0;
      for (let i = 0; i < 41; i += 1) predicted += ((fit.residuals[i] as number) / (1 - leverage(fit, i))) ** 2;
      expectRelative(values[1] as number, speed, sixDigits, 'speed');
      if (order > 1) expectRelative(values[2] as number, acceleration, sixDigits, 'acceleration');
      expectRelative(sum, rss, sixDigits, 'residual sum of squares');
      expectRelative(aicc(41, order, sum), criterion, sixDigits, 'AICc');
      expectRelative(predicted, press, sixDigits, 'PRESS');
      expectRelative(Math.sqrt(covariance[4] as number), uSpeed, sixDigits, 'u(speed)');
      if (order > 1) expectRelative(Math.sqrt(covariance[8] as number), uAcceleration, sixDigits, 'u(acceleration)');
    });

    it.each([
      [2, 370.582],
      [3, 867.962],
      [4, 1.44483],
      [5, 0.0589108],
    ] as const)('F of order %i against the one below', (order, ratio) => {
      const fit = fitPolynomial(times, positions, order);
      const sum = fit.residualSumsOfSquares[order] as number;
      const below = fit.residualSumsOfSquares[order - 1] as number;
      expectRelative((below - sum) / (sum / residualDegreesOfFreedom(fit)), ratio, sixDigits);
    });

    it('the track fit weighs orders 3 and 4 and holds the truth', () => {
      const fit = fitTrack({ times, positions, order: null, window: 0.04, firstContactUncertainty: 0 });
      if (!fit.ok) throw new Error(fit.reason);
      expect(fit.points).toBe(41);
      expect(fit.order).toBe(3);
      expect(fit.candidates.map((candidate) => candidate.aicc.toFixed(3))).toEqual([
        '-699.088',
        '-827.560',
        '-826.417',
      ]);
      const fixed = fitTrack({ times, positions, order: 3, window: 0.04, firstContactUncertainty: 0 });
      if (!fixed.ok) throw new Error(fixed.reason);
      expectRelative(fixed.speed, 2.79721, sixDigits);
      expectRelative(fixed.acceleration ?? Number.NaN, 24.943, sixDigits);
      expect(Math.abs(fit.speed - 2.8)).toBeLessThan(2 * fit.speedUncertainty);
      expect(Math.abs((fit.acceleration ?? Number.NaN) - 25)).toBeLessThan(2 * (fit.accelerationUncertainty ?? 0));
    });
  });
});
