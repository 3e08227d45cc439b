/**
 * The cue ball meets the object ball full. Restitution e_bb along the line of centres; friction mu_bb between the balls in
 * the vertical plane, where the surfaces slip by the spin s1 of the cue ball (the object ball is at rest).
 *
 *   v' = v1 (m_c - e_bb m_o)/(m_c + m_o),  v_o = v1 m_c (1 + e_bb)/(m_c + m_o)
 *   gross slip, |s1| >= (7/2) mu_bb (1 + e_bb) v1:  each surface spin changes by (5/4) mu_bb (1 + e_bb) v1
 *   otherwise the surfaces stick:                   each changes by (5/2)|s1|/7
 *
 * The spin lines are for equal masses with the table's reaction left out. For balls of their own masses, with the impulse
 * J = m_c m_o (1 + e_bb) v1/(m_c + m_o) along the line of centres, friction has the impulse
 *
 *   F = min{ mu_bb J, |s1| / [(7/2)(1/m_c + 1/m_o)] },   and changes the spin of each by (5/2) F/m
 *
 * Derived; checked by integrating the hit.
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
  /** True for the spin lines of unequal masses; they are the same for equal ones. */
  readonly spinByMasses?: boolean;
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
  const cueSpeed = (speed * (cueBallMass - restitution * objectBallMass)) / total;
  if (input.spinByMasses === true) {
    const impulse = (cueBallMass * objectBallMass * (1 + restitution) * speed) / total;
    const sticking = (Math.abs(surfaceSpin) * cueBallMass * objectBallMass) / (3.5 * total);
    const turned = Math.sign(surfaceSpin) * 2.5 * Math.min(friction * impulse, sticking);
    return {
      cueBall: { speed: cueSpeed, surfaceSpin: surfaceSpin - turned / cueBallMass },
      objectBall: { speed: objectSpeed, surfaceSpin: -turned / objectBallMass },
    };
  }
  const slipping = ((1 + restitution) * friction * speed) / 2;
  const spinChange = Math.sign(surfaceSpin) * 2.5 * Math.min(slipping, Math.abs(surfaceSpin) / 7);
  return {
    cueBall: {
      speed: cueSpeed,
      surfaceSpin: surfaceSpin - spinChange,
    },
    objectBall: { speed: objectSpeed, surfaceSpin: -spinChange },
  };
}
