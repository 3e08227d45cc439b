/**
 * Simulated cue tracks with known speed and acceleration at contact: smooth strokes, white noise, contact at a
 * uniformly random phase within the frame interval. Only for tests and studies.
 */

/** Small seeded generator (mulberry32), uniform on [0, 1). */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** Standard normal deviates by the polar method. */
export function normalDeviates(uniform: () => number): () => number {
  return () => {
    for (;;) {
      const x = 2 * uniform() - 1;
      const y = 2 * uniform() - 1;
      const s = x * x + y * y;
      if (s > 0 && s < 1) return x * Math.sqrt((-2 * Math.log(s)) / s);
    }
  };
}

export const strokeFamilies = ['constantAcceleration', 'constantJerk', 'swing', 'fromRest'] as const;
export type StrokeFamily = (typeof strokeFamilies)[number];

export interface SimulatedTrack {
  readonly times: Float64Array;
  readonly positions: Float64Array;
  readonly firstContactUncertainty: number;
  /** At the true instant of contact, m/s and m/s2. */
  readonly speed: number;
  readonly acceleration: number;
}

/** Position, speed and acceleration of a random stroke at t s from nominal contact. */
function randomStroke(family: StrokeFamily, between: (low: number, high: number) => number) {
  const speed = between(0.8, 5);
  if (family === 'swing') {
    // Harmonic: fastest before, at or after contact.
    const rate = between(4, 15);
    const phase = between(-1, 0.6);
    const top = speed / Math.cos(phase);
    return (t: number) => ({
      position: (top / rate) * Math.sin(rate * t + phase),
      speed: top * Math.cos(rate * t + phase),
      acceleration: -top * rate * Math.sin(rate * t + phase),
    });
  }
  if (family === 'fromRest') {
    // v = A t'^2 + B t'^3 from rest at the back, `duration` before contact.
    const duration = between(0.12, 0.3);
    const share = between(-0.6, 0.6);
    return (t: number) => {
      const tau = 1 + t / duration;
      return {
        position: duration * speed * (((1 - share) * tau ** 3) / 3 + (share * tau ** 4) / 4),
        speed: speed * ((1 - share) * tau ** 2 + share * tau ** 3),
        acceleration: (speed / duration) * (2 * (1 - share) * tau + 3 * share * tau ** 2),
      };
    };
  }
  const acceleration = between(-25, 50);
  const jerk = family === 'constantJerk' ? between(-1500, 1500) : 0;
  return (t: number) => ({
    position: t * (speed + t * (acceleration / 2 + (t * jerk) / 6)),
    speed: speed + t * (acceleration + (t * jerk) / 2),
    acceleration: acceleration + jerk * t,
  });
}

/**
 * One track of a little more than `length` seconds before contact. The zero of its times lies midway between the last
 * open and the first closed frame.
 */
export function simulateTrack(
  family: StrokeFamily,
  captureRate: number,
  noise: number,
  length: number,
  uniform: () => number,
): SimulatedTrack {
  const normal = normalDeviates(uniform);
  const stroke = randomStroke(family, (low, high) => low + (high - low) * uniform());
  const interval = 1 / captureRate;
  const points = Math.ceil(length * captureRate) + 5;
  const contact = (uniform() - 0.5) * interval;
  const times = Float64Array.from({ length: points }, (_, i) => (i - points + 0.5) * interval);
  const positions = times.map((t) => stroke(t).position + noise * normal());
  const truth = stroke(contact);
  return {
    times,
    positions,
    firstContactUncertainty: interval / Math.sqrt(12),
    speed: truth.speed,
    acceleration: truth.acceleration,
  };
}
