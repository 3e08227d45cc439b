/** Tracks that cannot show that their intervals hold: flagged from method version 2 on, and said in words. */
import { describe, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { explainDerivation } from '../../src/derivation/explain/explain-derivation.ts';
import { type MethodChoices, methodOne, methodTwo } from '../../src/derivation/method-choices.ts';
import { randomBall, simulateBallTrack } from '../kinematics/simulated-ball-tracks.ts';
import { exampleGear, exampleShot, strokePositions } from './example-shot.ts';

function derive(changes: Partial<ShotInput> = {}, rig = {}, choices: MethodChoices = methodTwo) {
  const shot = exampleShot(changes);
  const gear = exampleGear(rig);
  const { derived } = deriveShot(shot, gear, choices);
  return { derived, steps: explainDerivation(shot, gear, derived).steps };
}

/** The last `points` before contact, frame 999, and what follows. */
const lastPoints = (points: number): Partial<ShotInput> => ({
  cueTrack: { unit: 'mm', firstFrame: 1000 - points, positions: strokePositions().slice(400 - points) },
});

describe('intervals that a cue track cannot assure', () => {
  it('are those of fewer than 16 points for each of the five coefficients of order 4', () => {
    expect(derive(lastPoints(80)).derived.flags).not.toContain('intervalNotAssured');
    expect(derive(lastPoints(79)).derived.flags).toContain('intervalNotAssured');
  });

  it('are those of an order fixed below 4, however many points there are', () => {
    expect(derive({}, { fit: { order: 3 } }).derived.flags).toContain('intervalNotAssured');
    expect(derive({}, { fit: { order: 4 } }).derived.flags).not.toContain('intervalNotAssured');
  });

  it('change no number, are not flagged by version 1, and are told in the steps', () => {
    const first = derive(lastPoints(40), {}, methodOne);
    const second = derive(lastPoints(40));
    expect(second.derived.cueSpeed).toEqual(first.derived.cueSpeed);
    expect(first.derived.flags).not.toContain('intervalNotAssured');
    const said = 'cannot show that the intervals hold';
    expect(JSON.stringify(first.steps)).not.toContain(said);
    expect(JSON.stringify(second.steps)).toContain(`${said}: so few independent points`);
    const cubic = derive({}, { fit: { order: 3 } });
    expect(JSON.stringify(cubic.steps)).toContain(`${said}: they do if the stroke has no higher order than 3`);
  });
});

describe('phases that a ball track does not show', () => {
  const ballTrack = (positions: Float64Array): Partial<ShotInput> => ({
    ballTrack: {
      unit: 'mm',
      captureRate: { value: 240, unit: 'fps' },
      positions: Array.from(positions, (place) => 1000 * place),
    },
  });
  const truth = { ...randomBall(1), slidingFriction: 0.2, rollingFriction: 0.01, distance: 1.2 };

  it('are flagged where a ball slides all the way to the object ball', () => {
    const draw = simulateBallTrack({ ...truth, speed: 3, spin: -3 }, 240, 2e-4, 1);
    const { derived, steps } = derive(ballTrack(draw.positions));
    expect(derived.ball?.read).toBe(true);
    expect(derived.flags).toContain('ballPhaseShort');
    expect(JSON.stringify(steps)).toContain('Not every stretch shows sliding and rolling');
    expect(derive(ballTrack(draw.positions), {}, methodOne).derived.flags).not.toContain('ballPhaseShort');
  });

  it('are not flagged where the ball slides, then rolls, before the impact and after it', () => {
    const slow = simulateBallTrack({ ...truth, speed: 2, spin: -0.4 }, 240, 2e-4, 1);
    const { derived } = derive(ballTrack(slow.positions));
    expect(derived.ball?.read === true ? derived.ball.slideToRoll : []).toHaveLength(2);
    expect(derived.flags).not.toContain('ballPhaseShort');
  });
});
