import { describe, expect, it } from 'vitest';
import { advance, afterFullHit, distanceToRest, playOut } from '../../src/demo/slide.ts';

const cloth = { slidingFriction: 0.2, rollingResistance: 0.01 };
const balls = { restitution: 0.95, friction: 0.06 };
const open = { roomBehind: 50, roomAhead: 50 };
const relative = (actual: number, expected: number) => Math.abs(actual / expected - 1);

describe('the cloth of the demo', () => {
  it('turns a sliding ball without spin into a rolling one with 5/7 of its speed', () => {
    // Textbook: x = 12 v^2 / (49 mu g) and v = 5/7 v0.
    const length = (12 * 16) / (49 * 0.2 * 9.80665);
    const rolling = advance({ speed: 4, spin: 0 }, length + 1e-9, cloth);
    expect(relative(rolling?.speed ?? 0, 20 / 7)).toBeLessThan(1e-6);
    expect(rolling?.spin).toBe(rolling?.speed);
  });

  it('keeps backspin over a short way, loses it over a long one and then rolls forwards', () => {
    const start = { speed: 2, spin: -1.5 };
    expect(advance(start, 0.2, cloth)?.spin).toBeLessThan(0);
    expect(advance(start, 1.2, cloth)?.spin).toBeGreaterThan(0);
  });

  it('stops a ball that is too slow for the way', () => {
    expect(advance({ speed: 0.3, spin: 0.3 }, 1, cloth)).toBeNull();
    expect(advance({ speed: 0.5, spin: -1.25 }, 1, cloth)).toBeNull();
  });

  it('agrees with worked values of a full hit with backspin (balls with restitution 0.95 and friction 0.06)', () => {
    const after = afterFullHit({ speed: 2.5, spin: -2 }, balls);
    expect(relative(after.speed, 0.0625)).toBeLessThan(1e-12);
    expect(relative(after.spin, -1.634375)).toBeLessThan(1e-12);
    expect(relative(distanceToRest(after, cloth), -0.953832)).toBeLessThan(1e-5);
  });

  it('never turns the spin round by rubbing', () => {
    expect(afterFullHit({ speed: 3, spin: -0.01 }, balls).spin).toBeLessThan(0);
    expect(afterFullHit({ speed: 3, spin: 0 }, balls).spin).toBe(0);
  });

  it('draws with enough speed, and follows with the same low hit when the speed is too little for the distance', () => {
    const low = (speed: number) => ({ speed, spin: 2.5 * -0.3 * speed });
    const lie = { ...open, objectBallDistance: 1.1 };
    expect(playOut(low(4.5), lie, cloth, balls)?.distance).toBeLessThan(-0.3);
    expect(playOut(low(1.4), lie, cloth, balls)?.distance).toBeGreaterThan(0.05);
  });

  it('ends at a cushion when the room is too small, ahead or behind', () => {
    const draw = { speed: 4.5, spin: -4 };
    expect(playOut(draw, { objectBallDistance: 0.5, roomBehind: 0.4, roomAhead: 1 }, cloth, balls)).toMatchObject({
      distance: -0.4,
      ended: 'cushion',
    });
    const follow = { speed: 3, spin: 3 };
    expect(playOut(follow, { objectBallDistance: 0.5, roomBehind: 1, roomAhead: 0.7 }, cloth, balls)).toMatchObject({
      distance: 0.7,
      ended: 'cushion',
    });
    expect(playOut(draw, { ...open, objectBallDistance: 0.5 }, cloth, balls)?.ended).toBe('atRest');
  });

  it('says when the object ball is never reached', () => {
    expect(playOut({ speed: 0.2, spin: 0 }, { ...open, objectBallDistance: 2 }, cloth, balls)).toBeNull();
  });
});
