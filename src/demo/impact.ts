/**
 * Tip against ball, by integrating the motion. The tip stiffens as it is squeezed and loses some energy:
 *
 *   F = k x^(3/2) (1 + lambda x'/V)     x = compression, V = cue speed at first contact, F >= 0
 *   cue:  M X'' = M A - F               A = acceleration that the hand would give the free cue
 *   ball: m y'' = F,   s' = (5/2) F (b/R) / m     s = R * omega, surface speed of the spin, > 0 topspin
 *   x' = X' - y' - (b/R) s              speed of the ball's surface along the cue axis
 *
 * The power 3/2 makes a faster hit shorter (about V^(-1/5)); lambda near 0.5 returns about 3/4 of the speed. Contact
 * ends when the compression is back at zero. Classical Runge-Kutta with a step of one microsecond.
 */

export interface ImpactPlan {
  /** Cue speed at first contact, m/s. */
  readonly cueSpeed: number;
  /** Acceleration that the hand would go on giving the free cue, m/s2. */
  readonly cueAcceleration: number;
  /** kg. */
  readonly cueMass: number;
  /** kg. */
  readonly ballMass: number;
  /** Lever arm of the impulse over the ball radius, b/R; below the centre negative. */
  readonly tipOffset: number;
  /** k, N/m^1.5. */
  readonly stiffness: number;
  /** lambda, 1. */
  readonly loss: number;
}

export interface Impact {
  /** s. */
  readonly contactTime: number;
  /** Speed of the ball centre along the cue axis, m/s. */
  readonly ballSpeed: number;
  /** Surface speed of the spin, m/s, positive topspin. */
  readonly ballSpin: number;
  /** m/s. */
  readonly cueSpeedAfter: number;
  /** Speed of parting over speed of approach at the contact point. */
  readonly restitution: number;
  /** N. */
  readonly largestForce: number;
  /** Cue position relative to first contact, m, at `time` s after first contact, during contact and beyond. */
  cuePosition(time: number): number;
}

const step = 1e-6;
const longestContact = 2e-2;

/**
 * Integrates one impact.
 *
 * @throws RangeError when cue and ball do not part within 20 ms, as with a hand that pushes on
 */
export function integrateImpact(plan: ImpactPlan): Impact {
  const { cueSpeed, cueAcceleration, cueMass, ballMass, tipOffset, stiffness, loss } = plan;
  const ballFactor = (1 + 2.5 * tipOffset * tipOffset) / ballMass;

  const force = (compression: number, rate: number): number =>
    compression <= 0
      ? 0
      : Math.max(0, stiffness * compression * Math.sqrt(compression) * (1 + (loss * rate) / cueSpeed));
  // Relative motion is one equation: x'' = A - F (1/M + (1 + 5/2 (b/R)^2)/m).
  const relative = (compression: number, rate: number): number =>
    cueAcceleration - force(compression, rate) * (1 / cueMass + ballFactor);

  const positions: number[] = [0];
  let compression = 0;
  let rate = cueSpeed;
  let speed = cueSpeed;
  let position = 0;
  let impulse = 0;
  let largestForce = 0;
  let contactTime = Number.NaN;
  for (let time = 0; time < longestContact; time += step) {
    const rate2 = rate + (step / 2) * relative(compression, rate);
    const compression2 = compression + (step / 2) * rate;
    const rate3 = rate + (step / 2) * relative(compression2, rate2);
    const compression3 = compression + (step / 2) * rate2;
    const rate4 = rate + step * relative(compression3, rate3);
    const compression4 = compression + step * rate3;
    const force1 = force(compression, rate);
    const meanForce =
      (force1 + 2 * force(compression2, rate2) + 2 * force(compression3, rate3) + force(compression4, rate4)) / 6;
    const nextCompression = compression + (step / 6) * (rate + 2 * rate2 + 2 * rate3 + rate4);
    const nextRate = rate + step * (cueAcceleration - meanForce * (1 / cueMass + ballFactor));
    const nextSpeed = speed + step * (cueAcceleration - meanForce / cueMass);
    position += (step / 2) * (speed + nextSpeed);
    positions.push(position);
    impulse += step * meanForce;
    largestForce = Math.max(largestForce, force1);
    speed = nextSpeed;
    if (nextCompression <= 0) {
      contactTime = time + (step * compression) / (compression - nextCompression);
      rate = nextRate;
      break;
    }
    compression = nextCompression;
    rate = nextRate;
  }
  if (Number.isNaN(contactTime)) throw new RangeError('cue and ball do not part within 20 ms');

  const ballSpeed = impulse / ballMass;
  const ballSpin = 2.5 * tipOffset * ballSpeed;
  const last = positions.length - 1;
  return {
    contactTime,
    ballSpeed,
    ballSpin,
    cueSpeedAfter: speed,
    restitution: -rate / cueSpeed,
    largestForce,
    cuePosition: (time) => {
      const place = time / step;
      if (place >= last) {
        const beyond = time - last * step;
        return (positions[last] ?? 0) + speed * beyond + (cueAcceleration / 2) * beyond * beyond;
      }
      const whole = Math.floor(place);
      const before = positions[whole] ?? 0;
      return before + (place - whole) * ((positions[whole + 1] ?? before) - before);
    },
  };
}
