import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  bilinearContact,
  powerLawContactTime,
  powerLawPrefactor,
  pushedContact,
} from '../../src/physics/contact-duration.ts';
import { type CueImpactInput, cueImpact, effectiveMass } from '../../src/physics/cue-impact.ts';
import { energyFractionImpact, energyKept, restitutionAtOffset } from '../../src/physics/energy-fraction-impact.ts';
import { gammaFunction } from '../../src/physics/gamma-function.ts';
import { effectiveCueMass, restitutionFromSpeeds, speedRatioBounds } from '../../src/physics/impact-inversion.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { integrateContact } from './integrate.ts';

const step = 1e-7;
/** The integration is linear within its last step, a ten-thousandth of the contact. */
const lastStep = 1e-4;
/** What that leaves in speeds and forces. */
const integration = 1e-6;
const gear = { cueMass: 0.54, ballMass: 0.17, ballRadius: 0.028575, restitution: 0.75 };
const stiffness = 6.5e5;

/** Linear tip that gives back less squeeze for the same force: stiffness k while loading, k/e^2 after. */
function bilinearForce(restitution: number) {
  return (squeeze: number, loading: boolean, greatest: number) => {
    if (loading) return stiffness * squeeze;
    const returned = restitution * restitution;
    return (stiffness / returned) * (squeeze - greatest * (1 - returned));
  };
}

const impacts: fc.Arbitrary<CueImpactInput> = fc.record({
  cueSpeed: fc.double({ min: 0.2, max: 10, noNaN: true }),
  tipOffset: fc.double({ min: -0.6, max: 0.6, noNaN: true }),
  cueMass: fc.double({ min: 0.3, max: 0.8, noNaN: true }),
  ballMass: fc.double({ min: 0.09, max: 0.22, noNaN: true }),
  ballRadius: fc.double({ min: 0.024, max: 0.031, noNaN: true }),
  restitution: fc.double({ min: 0.5, max: 1, noNaN: true }),
});

describe('cueImpact', () => {
  it.each([0, -0.2, -0.4, 0.3])(
    'is what integrating cue, tip and ball through contact gives, tip offset %f',
    (tipOffset) => {
      const impact = cueImpact({ ...gear, cueSpeed: 3, tipOffset });
      const restitution = 0.75;
      const integrated = integrateContact({
        cueSpeed: 3,
        cueMass: 0.54,
        ballMass: 0.17,
        tipOffset,
        force: bilinearForce(restitution),
        step,
      });
      expectRelative(integrated.ballSpeed, impact.ballSpeed, integration);
      expectRelative(integrated.cueSpeed, impact.cueSpeedAfter, integration);
      expect(Math.abs(integrated.surfaceSpin - impact.surfaceSpin)).toBeLessThan(integration * impact.ballSpeed);
      const contact = bilinearContact(effectiveMass(0.54, 0.17, tipOffset), stiffness, restitution, 3);
      expectRelative(integrated.duration, contact.duration, lastStep);
      expectRelative(integrated.greatestForce, contact.greatestForce, integration);
    },
  );

  it('is inverted by the speeds of an integrated contact', () => {
    for (const tipOffset of [0, -0.4]) {
      const { cueSpeed, ballSpeed } = integrateContact({
        cueSpeed: 3,
        cueMass: 0.54,
        ballMass: 0.17,
        tipOffset,
        force: bilinearForce(0.75),
        step,
      });
      expectRelative(restitutionFromSpeeds(3, cueSpeed, ballSpeed, tipOffset), 0.75, 1e-5);
      expectRelative(effectiveCueMass(3, cueSpeed, ballSpeed, 0.17), 0.54, 1e-5);
    }
  });

  it('lies between the bounds that a tip without and with full rebound give, integrated', () => {
    const bounds = speedRatioBounds(0.54, 0.17, -0.3);
    const ratio = (restitution: number) =>
      integrateContact({
        cueSpeed: 3,
        cueMass: 0.54,
        ballMass: 0.17,
        tipOffset: -0.3,
        force: bilinearForce(restitution),
        step: 1e-8,
      }).ballSpeed / 3;
    expectRelative(bounds.most, ratio(1), 1e-5);
    // A tip that gives back as good as nothing.
    expectRelative(bounds.least, ratio(0.02) / 1.02, 1e-4);
  });

  it('conserves momentum, loses the energy it says, and gives back its restitution and cue mass', () => {
    fc.assert(
      fc.property(impacts, (input) => {
        const { cueSpeed, cueMass, ballMass, tipOffset, restitution } = input;
        const { ballSpeed, surfaceSpin, cueSpeedAfter, energyLost } = cueImpact(input);
        expectRelative(cueMass * cueSpeedAfter + ballMass * ballSpeed, cueMass * cueSpeed, 1e-12);
        const before = (cueMass * cueSpeed ** 2) / 2;
        const after =
          (cueMass * cueSpeedAfter ** 2 + ballMass * ballSpeed ** 2 + 0.4 * ballMass * surfaceSpin ** 2) / 2;
        expect(Math.abs(before - after - energyLost)).toBeLessThan(1e-12 * before);
        expectRelative(restitutionFromSpeeds(cueSpeed, cueSpeedAfter, ballSpeed, tipOffset), restitution, 1e-10);
        expectRelative(effectiveCueMass(cueSpeed, cueSpeedAfter, ballSpeed, ballMass), cueMass, 1e-10);
        const bounds = speedRatioBounds(cueMass, ballMass, tipOffset);
        expect(ballSpeed / cueSpeed).toBeGreaterThanOrEqual(bounds.least * (1 - 1e-12));
        expect(ballSpeed / cueSpeed).toBeLessThanOrEqual(bounds.most * (1 + 1e-12));
      }),
      { seed: 21 },
    );
  });
});

describe('energyFractionImpact', () => {
  it('keeps the same share of kinetic energy at every tip offset', () => {
    fc.assert(
      fc.property(impacts, (input) => {
        const { cueSpeed, cueMass, ballMass, tipOffset, restitution } = input;
        const impact = energyFractionImpact(input);
        if (impact === null) {
          expect(restitutionAtOffset(cueMass, ballMass, restitution, tipOffset)).toBeNull();
          return;
        }
        const kept = 1 - impact.energyLost / ((cueMass * cueSpeed ** 2) / 2);
        expectRelative(kept, energyKept(cueMass, ballMass, restitution), 1e-12);
        expectRelative(cueMass * impact.cueSpeedAfter + ballMass * impact.ballSpeed, cueMass * cueSpeed, 1e-12);
      }),
      { seed: 22 },
    );
  });

  it('is what integrating the contact gives with the tip that keeps the share of a central hit', () => {
    const restitution = 0.75;
    const motion = (tipOffset: number, given: number) =>
      integrateContact({ cueSpeed: 3, cueMass: 0.54, ballMass: 0.17, tipOffset, force: bilinearForce(given), step });
    const kept = ({ cueSpeed, ballSpeed, surfaceSpin }: ReturnType<typeof motion>) =>
      (0.54 * cueSpeed ** 2 + 0.17 * (ballSpeed ** 2 + 0.4 * surfaceSpin ** 2)) / (0.54 * 9);
    const central = kept(motion(0, restitution));
    expectRelative(energyKept(0.54, 0.17, restitution), central, 1e-5);
    for (const tipOffset of [-0.4, 0.25]) {
      // The restitution there, found by trying.
      let [low, high] = [0.1, 1];
      for (let bisection = 0; bisection < 25; bisection += 1) {
        const middle = (low + high) / 2;
        if (kept(motion(tipOffset, middle)) < central) low = middle;
        else high = middle;
      }
      expectRelative(restitutionAtOffset(0.54, 0.17, restitution, tipOffset) ?? 0, low, 1e-4);
      const impact = energyFractionImpact({ ...gear, cueSpeed: 3, tipOffset });
      expectRelative(impact?.ballSpeed ?? 0, motion(tipOffset, low).ballSpeed, 1e-4);
    }
  });

  it('has no answer where so little energy cannot be kept', () => {
    expect(energyFractionImpact({ ...gear, restitution: 0.3, cueSpeed: 3, tipOffset: 0.6 })).toBeNull();
  });
});

describe('contact time of a stiffening tip', () => {
  const hertz = 1.5;
  const constant = 2.2e7;
  const at = (cueSpeed: number, tipOffset = 0) =>
    powerLawContactTime(effectiveMass(0.54, 0.17, tipOffset), constant, hertz, cueSpeed);

  it('is what integrating the motion gives', () => {
    for (const [cueSpeed, tipOffset] of [
      [1, 0],
      [3, 0],
      [3, -0.4],
    ] as const) {
      const integrated = integrateContact({
        cueSpeed,
        cueMass: 0.54,
        ballMass: 0.17,
        tipOffset,
        force: (squeeze) => constant * squeeze * Math.sqrt(Math.abs(squeeze)),
        step,
      });
      expectRelative(integrated.duration, at(cueSpeed, tipOffset), lastStep);
    }
  });

  it('is about a millisecond and shortens as the stroke gets faster (common practice)', () => {
    const times = [0.5, 1, 2, 4, 8].map((speed) => at(speed));
    for (const time of times) {
      expect(time).toBeGreaterThan(0.5e-3);
      expect(time).toBeLessThan(2e-3);
    }
    for (let i = 1; i < times.length; i += 1) {
      // Twice the speed: 2^(-1/5).
      expectRelative((times[i] ?? 0) / (times[i - 1] ?? 0), 0.8705505632961241, 1e-12);
    }
  });

  it('does not depend on the speed when the tip is linear', () => {
    const mass = effectiveMass(0.54, 0.17, 0);
    expectRelative(powerLawContactTime(mass, stiffness, 1, 5), bilinearContact(mass, stiffness, 1, 5).duration, 1e-12);
    expectRelative(powerLawContactTime(mass, stiffness, 1, 1), powerLawContactTime(mass, stiffness, 1, 5), 1e-12);
  });

  it('rests on a gamma function that is exact where it is known', () => {
    expectRelative(gammaFunction(0.5), Math.sqrt(Math.PI), 1e-13);
    for (let n = 1, factorial = 1; n < 15; factorial *= n, n += 1) expectRelative(gammaFunction(n), factorial, 1e-13);
    expectRelative(powerLawPrefactor(1), Math.PI, 1e-13);
  });
});

describe('a hand that goes on pushing', () => {
  const push = { cueSpeed: 3, cueAcceleration: 40, cueMass: 0.54, ballMass: 0.17, stiffness };

  it.each([-40, 0, 40, 400])('is what integrating the motion gives, acceleration %f m/s2', (cueAcceleration) => {
    const integrated = integrateContact({
      ...push,
      cueAcceleration,
      tipOffset: 0,
      force: (squeeze) => stiffness * squeeze,
      step,
    });
    const contact = pushedContact({ ...push, cueAcceleration });
    expectRelative(integrated.duration, contact.duration, lastStep);
    expectRelative(integrated.ballSpeed, contact.ballSpeed, integration);
  });

  it('changes contact time by 0.4 % and ball speed by 0.9 % at 40 m/s2 and 3 m/s', () => {
    const with40 = pushedContact(push);
    const without = pushedContact({ ...push, cueAcceleration: 0 });
    expect((100 * (with40.duration / without.duration - 1)).toFixed(1)).toBe('0.4');
    expect((100 * (with40.ballSpeed / without.ballSpeed - 1)).toFixed(1)).toBe('0.9');
  });
});
