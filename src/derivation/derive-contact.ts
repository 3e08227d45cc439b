/** Contact time under the convention of the service, beside the lab's own count. */
import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import { contactTime } from '../kinematics/contact-time.ts';
import { type BudgetEntry, budgetEntry, relativeEntry } from './budget.ts';
import type { CountedContact } from './count-contact.ts';
import { normalCoverage, rootSumSquares } from './estimate.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedContact {
  readonly contactTime: Estimate | null;
  readonly bounds: DerivedShot['contactTimeBounds'];
  readonly counted: number;
  readonly resolved: boolean;
  readonly budget: readonly BudgetEntry[];
}

/**
 * Contact time from frames, trims and exposure, with the rig's clock: its interval is that of the frame count, widened
 * by the relative uncertainty of the capture rate in quadrature. Not resolved: null, never zero.
 */
export function deriveContact(contact: CountedContact, gear: SettledGear): DerivedContact {
  const time = contactTime({
    contactFrames: contact.frames,
    trimmedStart: contact.trimmedStart,
    trimmedEnd: contact.trimmedEnd,
    trimMeaning: gear.rig.trimMeaning,
    captureRate: gear.captureRate,
    exposure: gear.exposure,
    exposureCriterion: gear.rig.exposureCriterion,
  });
  const bounds = { least: time.least, most: time.most };
  const counted = contact.trimmed / gear.captureRate;
  if (!time.resolved) return { contactTime: null, bounds, counted, resolved: false, budget: [] };

  const clock = time.value * gear.clockUncertainty;
  const widened = (half: number) => rootSumSquares(half, normalCoverage * clock);
  return {
    contactTime: {
      value: time.value,
      standardUncertainty: rootSumSquares(time.standardUncertainty, clock),
      lower: Math.max(0, time.value - widened(time.value - time.lower)),
      upper: time.value + widened(time.upper - time.value),
    },
    bounds,
    counted,
    resolved: true,
    budget: [
      budgetEntry(
        'contactTime',
        { input: 'counting frames', value: time.value, unit: 's', standardUncertainty: time.standardUncertainty },
        1,
        'B',
        'shot',
      ),
      relativeEntry('contactTime', 'capture rate', gear.clockUncertainty, -time.value, 'rig'),
    ],
  };
}
