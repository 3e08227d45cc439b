/**
 * The cue ball meets the object ball full. Restitution e_bb along the line of centres; friction mu_bb between the balls in
 * the vertical plane, where the surfaces slip by the spin s1 of the cue ball (the object ball is at rest).
 *
 *   v' = v1 (m_c - e_bb m_o)/(m_c + m_o),  v_o = v1 m_c (1 + e_bb)/(m_c + m_o)
 *   gross slip, |s1| >= (7/2) mu_bb (1 + e_bb) v1:  each surface spin changes by (5/4) mu_bb (1 + e_bb) v1
 *   otherwise the surfaces stick:                   each changes by (5/2)|s1|/7
 *
 * The spin lines are for equal masses with the table's reaction left out. Derived.
 */
import type { BallMotion } from './ball-on-cloth.ts';

export interface FullHitInput {
  /** Cue ball on arrival. */
  readonly cueBall: BallMotion;
  /** kg. */
  readonly cueBallMass: number;
  /** kg. */
  readonly objectBallMass: number;
  /** e_bb, 0..1. */
  readonly restitution: number;
  /** mu_bb. */
  readonly friction: number;
}

export interface FullHit {
  readonly cueBall: BallMotion;
  readonly objectBall: BallMotion;
}

/** Both balls just after the hit. */
export function fullHit(input: FullHitInput): FullHit {
  const { cueBallMass, objectBallMass, restitution, friction } = input;
  const { speed, surfaceSpin } = input.cueBall;
  const total = cueBallMass + objectBallMass;
  const objectSpeed = (speed * cueBallMass * (1 + restitution)) / total;
  const slipping = ((1 + restitution) * friction * speed) / 2;
  const spinChange = Math.sign(surfaceSpin) * 2.5 * Math.min(slipping, Math.abs(surfaceSpin) / 7);
  return {
    cueBall: {
      speed: (speed * (cueBallMass - restitution * objectBallMass)) / total,
      surfaceSpin: surfaceSpin - spinChange,
    },
    objectBall: { speed: objectSpeed, surfaceSpin: -spinChange },
  };
}
