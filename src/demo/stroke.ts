/**
 * The stroke before first contact: the cue starts from rest at the back, and its speed follows one smooth curve that
 * ends at first contact with a chosen speed, acceleration and jerk. A slowing stroke has its highest speed before
 * contact.
 *
 * With tau = 1 + t/T in [0, 1], t <= 0 the time relative to first contact (s) and T the duration of the stroke (s):
 *
 *   v(tau) = V p(tau) + A T q(tau) + J T^2 r(tau)
 *   p = 10 tau^3 - 15 tau^4 + 6 tau^5     q = -4 tau^3 + 7 tau^4 - 3 tau^5     r = (tau^3 - 2 tau^4 + tau^5) / 2
 *
 * p, q and r are the quintic Hermite polynomials that are all zero with two derivatives at tau = 0 and carry value,
 * slope and curvature at tau = 1.
 */

export interface StrokePlan {
  /** Cue speed at first contact V, m/s. */
  readonly speed: number;
  /** Cue acceleration at first contact A, m/s2; negative when slowing. */
  readonly acceleration: number;
  /** Change of the acceleration at first contact J, m/s3. */
  readonly jerk: number;
  /** Time from rest at the back to first contact T, s. */
  readonly duration: number;
}

export interface Stroke extends StrokePlan {
  /** Position relative to the place at first contact, m, at time t <= 0 s; positive towards the ball. */
  position(time: number): number;
  /** Speed, m/s, at time t <= 0 s. */
  speedAt(time: number): number;
}

/** Builds the stroke of a plan; before its start the cue rests at the back. */
export function strokeOf(plan: StrokePlan): Stroke {
  const { speed, acceleration, jerk, duration } = plan;
  const slope = acceleration * duration;
  const curvature = (jerk * duration * duration) / 2;
  // v = third tau^3 + fourth tau^4 + fifth tau^5
  const third = 10 * speed - 4 * slope + curvature;
  const fourth = -15 * speed + 7 * slope - 2 * curvature;
  const fifth = 6 * speed - 3 * slope + curvature;
  const travel = (tau: number) => {
    const squared = tau * tau;
    return duration * squared * squared * (third / 4 + tau * (fourth / 5 + (tau * fifth) / 6));
  };
  const whole = travel(1);
  const fraction = (time: number) => Math.max(0, 1 + time / duration);
  return {
    ...plan,
    position: (time) => travel(fraction(time)) - whole,
    speedAt: (time) => {
      const tau = fraction(time);
      return tau * tau * tau * (third + tau * (fourth + tau * fifth));
    },
  };
}
