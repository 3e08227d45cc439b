/** Contact time under the convention of the service, beside the lab's own count and every other reading of it. */
import type { ContactTimeReading, DerivedShot, Estimate } from '../../shared/derivation.ts';
import { exposureCriteria, trimMeanings } from '../../shared/gear.ts';
import { type ContactTime, contactTime } from '../kinematics/contact-time.ts';
import { type BudgetEntry, budgetEntry, relativeEntry } from './budget.ts';
import type { CountedContact } from './count-contact.ts';
import { mixedEstimate, normalCoverage, rootSumSquares } from './estimate.ts';
import type { MethodChoices } from './method-choices.ts';
import { meanUncertainty, repeatMean } from './repeat-readings.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedContact {
  readonly contactTime: Estimate | null;
  readonly bounds: DerivedShot['contactTimeBounds'];
  readonly counted: number;
  readonly resolved: boolean;
  readonly readings: ContactTimeReading[];
  readonly budget: readonly BudgetEntry[];
}

/**
 * Contact time from frames, trims and exposure, with the rig's clock: its interval is that of the frame count, widened
 * by the relative uncertainty of the capture rate in quadrature. Not resolved: null, never zero.
 *
 * Repeat counts of the same film share its frames, so the quantisation does not average out: the value is the mean of
 * all counts, and the scatter of the observers' judgement, s / sqrt(n), is added.
 *
 * @param repeats further counts of the same film; those that do not resolve the contact are left out
 */
export function deriveContact(
  contact: CountedContact,
  gear: SettledGear,
  repeats: readonly CountedContact[],
  choices: MethodChoices,
): DerivedContact {
  const { trimMeaning, exposureCriterion } = gear.rig;
  const time = timeOf(contact, gear, trimMeaning, exposureCriterion);
  const counted = contact.trimmed / gear.captureRate;
  if (!time.resolved) {
    const bounds = { least: time.least, most: time.most };
    return { contactTime: null, bounds, counted, resolved: false, readings: [], budget: [] };
  }
  const times = [time, ...repeats.map((repeat) => timeOf(repeat, gear, trimMeaning, exposureCriterion))].filter(
    (each) => each.resolved,
  );
  const repeated = repeatMean(times.map((each) => each.value));
  const judgement = meanUncertainty(repeated);
  const value = repeated.mean;
  const clock = value * gear.clockUncertainty;
  const normal = rootSumSquares(clock, judgement.widening * judgement.standardUncertainty);
  const widened = (half: number) => rootSumSquares(half, normalCoverage * normal);
  const counting = { input: 'counting frames', value, unit: 's', standardUncertainty: time.standardUncertainty };
  const judged = { input: 'repeat counts', value, unit: 's', standardUncertainty: judgement.standardUncertainty };
  const byDistribution = {
    value,
    standardUncertainty: rootSumSquares(time.standardUncertainty, clock, judgement.standardUncertainty),
    lower: Math.max(0, value - widened(time.value - time.lower)),
    upper: value + widened(time.upper - time.value),
  };
  // Two observers know little of their scatter, but the frames bound what it can hide: effective degrees of freedom.
  const byDegrees = choices.effectiveDegreesOfCounts && judgement.standardUncertainty > 0;
  const known = rootSumSquares(time.standardUncertainty, clock);
  const mixed = mixedEstimate(value, judgement.standardUncertainty, times.length - 1, known);
  return {
    contactTime: byDegrees ? { ...mixed, lower: Math.max(0, mixed.lower) } : byDistribution,
    bounds: {
      least: Math.min(...times.map((each) => each.least)),
      most: Math.max(...times.map((each) => each.most)),
    },
    counted,
    resolved: true,
    readings: readingsOf(contact, gear),
    budget: [
      budgetEntry('contactTime', counting, 1, 'B', 'shot'),
      ...(times.length > 1 ? [budgetEntry('contactTime', judged, 1, 'A', 'shot')] : []),
      relativeEntry('contactTime', 'capture rate', gear.clockUncertainty, -value, 'rig'),
    ],
  };
}

function timeOf(
  contact: CountedContact,
  gear: SettledGear,
  trimMeaning: ContactTimeReading['trimMeaning'],
  exposureCriterion: ContactTimeReading['exposureCriterion'],
): ContactTime {
  return contactTime({
    contactFrames: contact.frames,
    trimmedStart: contact.trimmedStart,
    trimmedEnd: contact.trimmedEnd,
    trimMeaning,
    captureRate: gear.captureRate,
    exposure: gear.exposure,
    exposureCriterion,
  });
}

/** The same count under every convention: trims change nothing when nothing was trimmed, criteria without an exposure. */
function readingsOf(contact: CountedContact, gear: SettledGear): ContactTimeReading[] {
  const { rig } = gear;
  const meanings = contact.trimmedStart + contact.trimmedEnd > 0 ? trimMeanings : [rig.trimMeaning];
  const criteria = gear.exposure !== null ? exposureCriteria : [rig.exposureCriterion];
  return meanings.flatMap((trimMeaning) =>
    criteria.map((exposureCriterion) => {
      const { value, standardUncertainty, lower, upper } = timeOf(contact, gear, trimMeaning, exposureCriterion);
      const used = trimMeaning === rig.trimMeaning && exposureCriterion === rig.exposureCriterion;
      return { trimMeaning, exposureCriterion, value, standardUncertainty, lower, upper, used };
    }),
  );
}
