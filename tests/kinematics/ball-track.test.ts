import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitBallTrack } from '../../src/kinematics/ball-track.ts';
import {
  type BallTruth,
  ballMotion,
  covers,
  phasesSeen,
  randomBall,
  simulateBallTrack,
} from './simulated-ball-tracks.ts';

const gravity = 9.80665;
const draw: BallTruth = {
  slidingFriction: 0.2,
  rollingFriction: 0.01,
  speed: 3,
  spin: -3,
  distance: 0.8,
  restitution: 0.95,
};
const seen = { contactTime: null, impactTime: null, cushionDistance: null };

function filmed(truth: BallTruth, rate = 120, noise = 1e-6) {
  const track = simulateBallTrack(truth, rate, noise, 7);
  return { track, fit: fitBallTrack({ times: track.times, positions: track.positions, ...seen }) };
}

describe('a ball track', () => {
  it('gives every number of a nearly noiseless draw shot', () => {
    const { track, fit } = filmed(draw);
    expect(fit.ballSpeed?.value).toBeCloseTo(3, 3);
    expect(fit.impact?.arrivalSpeed?.value).toBeCloseTo(track.arrivalSpeed, 3);
    expect(fit.impact?.time.value).toBeCloseTo(track.impactTime, 4);
    expect(fit.outcomeDistance?.value).toBeCloseTo(track.outcomeDistance, 4);
    expect((fit.deceleration.sliding?.value ?? 0) / gravity).toBeCloseTo(0.2, 3);
    expect((fit.deceleration.rolling?.value ?? 0) / gravity).toBeCloseTo(0.01, 4);
    expect(fit.ended).toBe('atRest');
    // It goes on a little before the backspin takes it back: v'^2 / (2 mu_s g).
    const after = (track.arrivalSpeed * (1 - 0.95)) / 2;
    expect(fit.turning?.distance.value).toBeCloseTo((after * after) / (2 * 0.2 * gravity), 4);
    expect(fit.breaks.map(({ phase }) => phase)).toEqual(['afterImpact']);
  });

  it('finds the slide-to-roll break on the way to the object ball', () => {
    const truth = { ...draw, speed: 2, spin: -0.4, distance: 1.2 };
    const { fit } = filmed(truth);
    expect(fit.breaks[0]?.phase).toBe('beforeImpact');
    expect(fit.breaks[0]?.time).toBeCloseTo(ballMotion(truth).breakBefore, 2);
  });

  it('follows the outcome over time, from zero at the impact to the outcome distance', () => {
    const { track, fit } = filmed(draw);
    const motion = ballMotion(draw);
    expect(fit.samples).toHaveLength(11);
    for (const { time, distance } of fit.samples) {
      expect(distance).toBeCloseTo(motion.place(track.impactTime + time) - 0.8, 3);
    }
  });

  it('gives a bound when the film ends before rest, and up to a cushion when one is touched', () => {
    const { times, positions, impactTime } = simulateBallTrack(draw, 120, 1e-4, 3);
    const cut = times.findIndex((time) => time > impactTime + 1);
    const short = fitBallTrack({ times: times.slice(0, cut), positions: positions.slice(0, cut), ...seen });
    expect([short.outcomeDistance, short.ended]).toEqual([null, 'outOfView']);
    expect(short.reached).toBeCloseTo(ballMotion(draw).place(impactTime + 1) - 0.8, 2);
    const railed = fitBallTrack({ times, positions, ...seen, cushionDistance: -0.3 });
    expect([railed.outcomeDistance, railed.ended]).toEqual([null, 'cushion']);
    expect(railed.reached).toBeCloseTo(-0.3, 1);
  });

  it('is not misled by jumps of the tracker', () => {
    const { times, positions, outcomeDistance } = simulateBallTrack(draw, 120, 3e-4, 9);
    const jumpy = positions.map((place, i) => (i % 97 === 50 ? place + 0.08 : place));
    const fit = fitBallTrack({ times, positions: jumpy, ...seen });
    expect(fit.ended).toBe('atRest');
    expect(fit.outcomeDistance?.value).toBeCloseTo(outcomeDistance, 2);
  });

  it('notices a cushion by itself: the ball comes back at once', () => {
    const follow = { ...draw, speed: 3, spin: 3 };
    const motion = ballMotion(follow);
    const rail = 0.5;
    const { times, impactTime } = simulateBallTrack(follow, 120, 1e-4, 3);
    const positions = times.map((time) => {
      const beyond = motion.place(time) - 0.8 - rail;
      return 0.8 + rail + (beyond > 0 ? -0.8 * beyond : beyond);
    });
    const kept = times.findIndex((time) => time > impactTime + 2);
    const fit = fitBallTrack({ times: times.slice(0, kept), positions: positions.slice(0, kept), ...seen });
    expect(fit.ended).toBe('cushion');
    expect(fit.outcomeDistance).toBeNull();
    expect(Math.abs((fit.reached ?? 0) - rail)).toBeLessThan(0.02);
  });

  it('takes a declared impact where the way there is too short to be fitted', () => {
    const { times, positions, impactTime, outcomeDistance } = simulateBallTrack(draw, 60, 1e-4, 5);
    const from = times.findIndex((time) => time > impactTime) - 2;
    const fit = fitBallTrack({
      times: times.slice(from),
      positions: positions.slice(from),
      ...seen,
      impactTime: impactTime,
    });
    expect(fit.impact?.arrivalSpeed).toBeNull();
    expect(fit.ballSpeed).toBeNull();
    expect(fit.outcomeDistance?.value).toBeCloseTo(outcomeDistance, 2);
  });

  it('gives friction of a roll-out without any object ball', () => {
    const { times, positions, impactTime } = simulateBallTrack(
      { ...draw, speed: 1.5, spin: 0, distance: 3 },
      60,
      2e-4,
      7,
    );
    const end = times.findIndex((time) => time > impactTime);
    const fit = fitBallTrack({ times: times.slice(0, end), positions: positions.slice(0, end), ...seen });
    expect([fit.impact, fit.outcomeDistance, fit.ended]).toEqual([null, null, null]);
    expect(fit.breaks.map(({ phase }) => phase)).toEqual(['beforeImpact']);
    expect((fit.deceleration.sliding?.value ?? 0) / gravity).toBeCloseTo(0.2, 2);
    expect((fit.deceleration.rolling?.value ?? 0) / gravity).toBeCloseTo(0.01, 3);
  });
});

describe('95 % intervals of simulated ball tracks', () => {
  it('cover ball speed, friction and outcome distance as often as they say, where each phase is on film', () => {
    const counts = new Map<string, { covered: number; all: number }>();
    for (let i = 0; i < 150; i += 1) {
      const truth = randomBall(i);
      if (!phasesSeen(truth, 60, 5e-4)) continue;
      const track = simulateBallTrack(truth, 60, 5e-4, i);
      const fit = fitBallTrack({ times: track.times, positions: track.positions, ...seen });
      const answers = {
        ballSpeed: covers(fit.ballSpeed, truth.speed),
        arrivalSpeed: covers(fit.impact?.arrivalSpeed, track.arrivalSpeed),
        outcomeDistance: covers(fit.outcomeDistance, track.outcomeDistance),
        sliding: covers(fit.deceleration.sliding, truth.slidingFriction * gravity),
        rolling: covers(fit.deceleration.rolling, truth.rollingFriction * gravity),
      };
      for (const [name, answer] of Object.entries(answers)) {
        if (answer === null) continue;
        const count = counts.get(name) ?? { covered: 0, all: 0 };
        counts.set(name, { covered: count.covered + Number(answer), all: count.all + 1 });
      }
    }
    for (const [name, { covered, all }] of counts) {
      expect(all, name).toBeGreaterThan(80);
      // Three standard deviations of a share of 0.95 among some 100 shots.
      expect(covered / all, name).toBeGreaterThan(0.885);
    }
    expect(counts.size).toBe(5);
  });

  it('state uncertainties of instants and of distances over time that are the scatter about the truth', () => {
    const truth = { slidingFriction: 0.2, rollingFriction: 0.01, speed: 3, spin: -2, distance: 0.8, restitution: 0.95 };
    const motion = ballMotion(truth);
    const scores: Record<string, number[]> = { slide: [], rest: [], turn: [], middle: [] };
    for (let i = 0; i < 120; i += 1) {
      const track = simulateBallTrack(truth, 120, 5e-4, i);
      const fit = fitBallTrack({ times: track.times, positions: track.positions, ...seen });
      const add = (name: string, value: number | undefined, u: number | null | undefined, expected: number) => {
        if (value !== undefined && u !== null && u !== undefined) scores[name]?.push((value - expected) / u);
      };
      const slide = fit.breaks.find(({ phase }) => phase === 'afterImpact');
      add('slide', slide?.time, slide?.standardUncertainty, motion.breakAfter);
      const toRest = motion.restTime - motion.impactTime;
      add('rest', fit.timeToRest ?? undefined, fit.timeToRestUncertainty, toRest);
      const v = ((1 - truth.restitution) / 2) * motion.arrivalSpeed;
      add('turn', fit.turning?.time, fit.turning?.timeUncertainty, v / (truth.slidingFriction * gravity));
      const middle = fit.samples[5];
      const place = motion.place(motion.impactTime + (middle?.time ?? 0)) - truth.distance;
      add('middle', middle?.distance, middle?.standardUncertainty, place);
    }
    for (const [name, values] of Object.entries(scores)) {
      expect(values.length, name).toBeGreaterThan(100);
      const rms = Math.sqrt(values.reduce((sum, z) => sum + z * z, 0) / values.length);
      // Standard deviation 1; with some 120 values it is known to 7 %.
      expect(rms, name).toBeGreaterThan(0.75);
      expect(rms, name).toBeLessThan(1.3);
    }
  });
});

/** Paths of numbers that are not finite. */
function notFinite(value: unknown, path = ''): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [path];
  if (ArrayBuffer.isView(value)) return Array.from(value as Float64Array).every(Number.isFinite) ? [] : [path];
  if (value === null || typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, part]) => notFinite(part, `${path}/${key}`));
}

describe('hostile ball tracks', () => {
  it('give finite numbers or nulls, never NaN and never an exception', () => {
    const place = fc.oneof(
      fc.double({ min: -5, max: 5, noNaN: true }),
      fc.constantFrom(0, 1e-12, 1e4, -1e4, 0.5),
      fc.integer({ min: -20, max: 20 }).map((step) => step / 100),
    );
    fc.assert(
      fc.property(
        fc.array(place, { minLength: 6, maxLength: 60 }),
        fc.constantFrom(1, 30, 240, 1e5),
        fc.option(fc.integer({ min: -5, max: 70 }), { nil: null }),
        fc.option(fc.integer({ min: -5, max: 70 }), { nil: null }),
        fc.option(fc.double({ min: -3, max: 3, noNaN: true }), { nil: null }),
        (places, rate, contact, impact, cushionDistance) => {
          const fit = fitBallTrack({
            times: Float64Array.from(places, (_, i) => i / rate),
            positions: Float64Array.from(places),
            contactTime: contact === null ? null : contact / rate,
            impactTime: impact === null ? null : impact / rate,
            cushionDistance,
          });
          expect(notFinite(fit)).toEqual([]);
        },
      ),
      { seed: 41, numRuns: 300 },
    );
  });
});
