/** Direct numerical integration of impact and sliding: the second route of the tests, without any closed form. */

/** One classical Runge-Kutta step of y' = f(y). */
function rungeKutta(state: number[], step: number, rates: (state: number[]) => number[]): number[] {
  const at = (slope: number[], share: number) => state.map((value, i) => value + share * step * (slope[i] ?? 0));
  const k1 = rates(state);
  const k2 = rates(at(k1, 0.5));
  const k3 = rates(at(k2, 0.5));
  const k4 = rates(at(k3, 1));
  return state.map(
    (value, i) => value + (step / 6) * ((k1[i] ?? 0) + 2 * (k2[i] ?? 0) + 2 * (k3[i] ?? 0) + (k4[i] ?? 0)),
  );
}

export interface IntegratedContact {
  readonly cueSpeed: number;
  readonly ballSpeed: number;
  readonly surfaceSpin: number;
  readonly duration: number;
  readonly greatestForce: number;
}

/**
 * Cue, tip and ball from first touch until they part. The squeeze of the tip is the cue's travel less the travel of the
 * ball's surface at the contact point along the cue axis.
 */
export function integrateContact(input: {
  readonly cueSpeed: number;
  readonly cueMass: number;
  readonly ballMass: number;
  /** b/R. */
  readonly tipOffset: number;
  /** Acceleration that the hand would give the free cue. */
  readonly cueAcceleration?: number;
  /** Force of the tip by squeeze, while loading and after the greatest squeeze; contact ends where it falls to zero. */
  readonly force: (squeeze: number, loading: boolean, greatestSqueeze: number) => number;
  readonly step: number;
}): IntegratedContact {
  const { cueSpeed, cueMass, ballMass, tipOffset, cueAcceleration = 0, force, step } = input;
  let loading = true;
  let greatestSqueeze = 0;
  let greatestForce = 0;
  // Squeeze, cue speed, ball speed, surface spin (= R omega).
  let state = [0, cueSpeed, 0, 0];
  const closing = ([, cue = 0, ball = 0, spin = 0]: number[]) => cue - ball - tipOffset * spin;
  const forceIn = (now: number[]) => force(now[0] ?? 0, loading, greatestSqueeze);
  const rates = (now: number[]) => {
    const f = forceIn(now);
    // Torque F b on a moment of inertia (2/5) m R^2: the surface speed grows by (5/2) (F/m) (b/R).
    return [closing(now), cueAcceleration - f / cueMass, f / ballMass, (2.5 * f * tipOffset) / ballMass];
  };
  let time = 0;
  while (time < 0.05) {
    let taken = step;
    let next = rungeKutta(state, step, rates);
    if (loading && closing(next) < 0) {
      // Land on the turning point, where the force law changes.
      taken = (step * closing(state)) / (closing(state) - closing(next));
      next = rungeKutta(state, taken, rates);
      greatestSqueeze = next[0] ?? 0;
      greatestForce = forceIn(next);
      loading = false;
    } else if (!loading && forceIn(next) <= 0) {
      taken = (step * forceIn(state)) / (forceIn(state) - forceIn(next));
      const [, cue = 0, ball = 0, spin = 0] = rungeKutta(state, taken, rates);
      return { cueSpeed: cue, ballSpeed: ball, surfaceSpin: spin, duration: time + taken, greatestForce };
    }
    time += taken;
    state = next;
  }
  throw new Error('tip and ball do not part');
}

export interface IntegratedSlide {
  readonly time: number;
  readonly distance: number;
  readonly speed: number;
  readonly surfaceSpin: number;
}

/** A ball sliding on the cloth until it rolls or has gone `distance`, by steps of constant force. */
export function integrateSlide(
  speed: number,
  surfaceSpin: number,
  deceleration: number,
  step: number,
  distance = Number.POSITIVE_INFINITY,
): IntegratedSlide {
  let v = speed;
  let s = surfaceSpin;
  let x = 0;
  let time = 0;
  const sense = Math.sign(speed - surfaceSpin);
  while (sense * (v - s) > 0 && x < distance) {
    // Friction opposes the slip of the contact point; its torque turns the ball the other way.
    const nextV = v - sense * deceleration * step;
    const nextS = s + 2.5 * sense * deceleration * step;
    x += ((v + nextV) / 2) * step;
    v = nextV;
    s = nextS;
    time += step;
  }
  return { time, distance: x, speed: v, surfaceSpin: s };
}

export interface IntegratedHit {
  /** Of the cue ball. */
  readonly speed: number;
  readonly surfaceSpin: number;
  readonly objectSpeed: number;
  readonly objectSpin: number;
}

/**
 * Two balls against one another by a stiff spring, the springback weakened to the restitution, with friction between their
 * surfaces as long as these slip: by the spins, and by the rise and fall of the balls that the friction causes (the table
 * does not push back during the hit).
 */
export function integrateFullHit(
  { speed, surfaceSpin }: { readonly speed: number; readonly surfaceSpin: number },
  balls: {
    readonly cueBallMass: number;
    readonly objectBallMass: number;
    readonly ballRestitution: number;
    readonly ballFriction: number;
  },
  step = 5e-9,
): IntegratedHit {
  const { cueBallMass, objectBallMass, ballRestitution, ballFriction } = balls;
  const stiffness = 1e7;
  let [cue, object, spin, objectSpin, rise, objectRise, squeeze] = [speed, 0, surfaceSpin, 0, 0, 0, 0];
  let loading = true;
  do {
    if (loading && cue < object) loading = false;
    const force = Math.max(0, stiffness * squeeze) * (loading ? 1 : ballRestitution * ballRestitution);
    // A force at the rim turns a ball, the surface speed changes by (5/2) F/m, and lifts it, by F/m.
    const slip = spin + objectSpin - rise + objectRise;
    const grip = Math.abs(slip) / (3.5 * step * (1 / cueBallMass + 1 / objectBallMass));
    const drag = Math.sign(slip) * Math.min(ballFriction * force, grip);
    cue -= (force / cueBallMass) * step;
    object += (force / objectBallMass) * step;
    spin -= ((2.5 * drag) / cueBallMass) * step;
    objectSpin -= ((2.5 * drag) / objectBallMass) * step;
    rise += (drag / cueBallMass) * step;
    objectRise -= (drag / objectBallMass) * step;
    squeeze += (cue - object) * step;
  } while (squeeze > 0);
  return { speed: cue, surfaceSpin: spin, objectSpeed: object, objectSpin };
}
