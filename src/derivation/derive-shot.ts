/**
 * Everything the server computes from one shot: speeds from the track, contact time from frames, tip offset from the
 * reading, the outcome as a value or a bound, each with its uncertainty. Pure: the same shot and gear give the same
 * bits on every machine.
 */
import type { DerivedShot, Estimate, passedOnResults } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import { quantities } from '../../shared/quantities.ts';
import type { Shot } from '../../shared/shot.ts';
import { assembleBudget, withPartsOf } from './assemble-budget.ts';
import { type BudgetEntry, budgetEntry } from './budget.ts';
import { comparedQuantities, compareReported, reportedDiffers } from './compare-reported.ts';
import { convertOptional } from './convert-measure.ts';
import { type CountedContact, countContact } from './count-contact.ts';
import { deriveBall } from './derive-ball.ts';
import { compareBall, deriveBallSpeed } from './derive-ball-speed.ts';
import { deriveContact } from './derive-contact.ts';
import { deriveFlags } from './derive-flags.ts';
import { deriveOutcome } from './derive-outcome.ts';
import { deriveStroke, type StrokeResult } from './derive-stroke.ts';
import { deriveTipOffset } from './derive-tip-offset.ts';
import { normalEstimate } from './estimate.ts';
import { expectOutcome } from './expect-outcome.ts';
import { assumedGiven } from './expectation-inputs.ts';
import { type FoundFirstContact, findFirstContact } from './find-first-contact.ts';
import { firstContact } from './first-contact.ts';
import type { UsedGear } from './gear.ts';
import { givenUncertainties } from './gear-defaults.ts';
import { judgeLimits } from './judge-limits.ts';
import { judgeRestitution } from './judge-restitution.ts';
import { type MethodChoices, newestChoices } from './method-choices.ts';
import { nullReasons } from './null-reasons.ts';
import { type SettledGear, settleGear } from './settle-gear.ts';
import { strokeFault } from './stroke-fault.ts';
import { type ReportedValue, type ReportedValues, takeReported } from './take-reported.ts';

/**
 * Derives a shot that passed the checks of intake.
 *
 * @returns the numbers (SI; null with a reason where there is none) and the faults that only the derivation can find:
 *   track-too-short, track-motionless, outside-ball, limit-exceeded and rate-confusion on derived values. A shot with
 *   faults is not to be stored.
 */
export function deriveShot(
  shot: Shot,
  gear: UsedGear,
  choices: MethodChoices = newestChoices,
): { derived: DerivedShot; faults: Fault[] } {
  const settled = settleGear(gear);
  const { context } = settled;
  const fromTrack = shot.cueTrack !== undefined;
  const first = findContactOf(shot, settled);
  const result = strokeOf(shot, first, settled);
  const stroke = result?.ok === true ? result : null;
  const counted = countContact(shot.contact);
  const contact = counted === null ? null : deriveContact(counted, settled, repeatCounts(shot), choices);
  const tip = deriveTipOffset(shot, settled);
  const reading = shot.ballTrack === undefined ? null : deriveBall(shot.ballTrack, shot.outcome, settled, choices);
  const outcome = deriveOutcome(shot.outcome, reading, settled);
  const ballSpeed = deriveBallSpeed(shot, reading, settled);
  const measuredBallSpeed = ballSpeed.fromTrack ?? ballSpeed.fromLab;
  const reported = takeReported(shot.reported, settled);

  // The lab's own values stand in only where there is no track at all.
  const instead = (own: ReportedValue | null): Estimate | null =>
    fromTrack || own === null ? null : normalEstimate(own.value, own.standardUncertainty);
  const judged = {
    cueSpeed: judgeLimits('cueSpeed', stroke?.cueSpeed ?? instead(reported.cueSpeed), '/cueTrack', settled),
    cueAcceleration: judgeLimits(
      'cueAcceleration',
      stroke?.cueAcceleration ?? instead(reported.cueAcceleration),
      '/cueTrack',
      settled,
    ),
    contactTime: judgeLimits(
      'contactTime',
      counted === null ? instead(reported.contactTime) : (contact?.contactTime ?? null),
      '/contact',
      settled,
    ),
  };
  const tipOffset = shot.tipHeight === undefined ? instead(reported.tipOffset) : tip.tipOffset;
  const estimates = {
    cueSpeed: judged.cueSpeed.kept,
    cueAcceleration: judged.cueAcceleration.kept,
    contactTime: judged.contactTime.kept,
    tipOffset,
  };
  const fromTrackSpeed = fromTrack ? estimates.cueSpeed : null;
  const restitution = judgeRestitution(shot, { cueSpeed: fromTrackSpeed, tipOffset }, gear, settled);
  const comparedValues = compareReported(reported, {
    cueSpeed: fromTrack ? estimates.cueSpeed : null,
    cueAcceleration: fromTrack ? estimates.cueAcceleration : null,
    contactTime: counted === null ? null : estimates.contactTime,
    tipOffset: shot.tipHeight === undefined ? null : tipOffset,
  });
  const compared = [...comparedValues, ...compareBall(ballSpeed, outcome)];

  const values = {
    ...estimates,
    covarianceSpeedAcceleration:
      estimates.cueSpeed !== null && estimates.cueAcceleration !== null ? (stroke?.covariance ?? null) : null,
    contactTimeBounds: contact?.bounds ?? null,
    countedContactTime: contact?.counted ?? null,
    tipHeight: tip.tipHeight,
    objectBallDistance: convertOptional(shot.objectBallDistance, 'objectBallDistance', context),
    outcomeDistance: outcome.distance,
    outcomeBound: outcome.bound,
    ended: outcome.ended,
    ballSpeed: measuredBallSpeed?.value ?? null,
    cueMass: settled.cueMass,
    elevation: convertOptional(shot.elevation, 'elevation', context),
  };
  const budget = assembleBudget(
    values,
    [
      ...(stroke?.budget ?? []),
      ...(contact?.budget ?? []),
      ...tip.budget,
      ...outcome.budget,
      ...(reading?.budget ?? []),
      ...(choices.completeBudgets ? passedOn(values, ballSpeed) : []),
    ],
    reportedEntries(reported),
    gear,
  );
  const expectation = expectOutcome(
    {
      straight: shot.straight,
      cueSpeed: estimates.cueSpeed,
      tipOffset,
      ballSpeed: measuredBallSpeed,
      objectBallDistance: values.objectBallDistance,
      outcomeDistance: outcome.distance,
    },
    gear,
    settled,
    choices,
    budget,
  );
  const derived: DerivedShot = {
    methodVersion: choices.version,
    source: fromTrack ? 'track' : 'reported',
    ...values,
    ...withPartsOf(values, budget),
    fit: stroke?.fit ?? null,
    firstContact: first?.found ?? null,
    contactTimeReadings: contact?.readings ?? [],
    ball: reading?.ball ?? null,
    expected: expectation.expected,
    budget: [...budget, ...expectation.budget],
    compared,
    reasons: nullReasons(values, {
      contactCounted: counted !== null,
      accelerationLost: stroke !== null && stroke.cueAcceleration !== null && estimates.cueAcceleration === null,
      orderOne: stroke !== null && stroke.cueAcceleration === null,
      speedLost: stroke !== null && estimates.cueSpeed === null,
      outcome: outcome.reason,
      hasCue: gear.cue !== null,
      objectBallDistanceSent: shot.objectBallDistance !== undefined,
    }),
    flags: deriveFlags({
      shot,
      gear: settled,
      stroke,
      firstContactDiffers: first?.differs ?? false,
      accelerationLost: stroke !== null && stroke.cueAcceleration !== null && estimates.cueAcceleration === null,
      contact: counted,
      contactResolved: contact?.resolved ?? false,
      tip,
      tipOffset: tipOffset?.value ?? null,
      unusual: {
        cueSpeed: judged.cueSpeed.unusual,
        cueAcceleration: judged.cueAcceleration.unusual,
        contactTime: judged.contactTime.unusual,
      },
      reportedDiffers: reportedDiffers(compared),
      censored: outcome.bound !== null,
      restitutionUnusual: restitution.unusual,
      flagsUnassuredIntervals: choices.flagsUnassuredIntervals,
      flagsRepeatedFrames: choices.flagsRepeatedFrames,
      everyPhaseShown: reading?.everyPhaseShown ?? true,
    }),
  };
  const limitFaults = [judged.cueSpeed.fault, judged.cueAcceleration.fault, judged.contactTime.fault];
  const all = [strokeFault(result, shot, settled), tip.fault, ...limitFaults, restitution.fault];
  return { derived, faults: firstOfEachPlace(all.filter((fault) => fault !== null)) };
}

/** Values as sent, with the uncertainty that is taken for them wherever they enter. */
function passedOn(
  values: Pick<DerivedShot, (typeof passedOnResults)[number]>,
  ballSpeed: ReturnType<typeof deriveBallSpeed>,
): BudgetEntry[] {
  const line = (
    result: BudgetEntry['result'],
    value: number | null,
    u: number,
    unit: string,
    to: BudgetEntry['commonTo'],
  ) =>
    value === null
      ? []
      : [
          budgetEntry(
            result,
            { input: 'as sent (uncertainty assumed)', value, unit, standardUncertainty: u },
            1,
            'B',
            to,
          ),
        ];
  const { fromTrack, fromLab } = ballSpeed;
  return [
    ...(fromTrack === null && fromLab !== null
      ? line('ballSpeed', fromLab.value, fromLab.standardUncertainty, 'm/s', 'shot')
      : []),
    ...line('objectBallDistance', values.objectBallDistance, assumedGiven.objectBallDistance, 'm', 'shot'),
    ...line('cueMass', values.cueMass, assumedGiven.cueMass, 'kg', 'cue'),
    ...line('elevation', values.elevation, givenUncertainties.elevation, 'rad', 'shot'),
  ];
}

/** What a result rests on when the lab's own value stands in. */
function reportedEntries(reported: ReportedValues): BudgetEntry[] {
  return comparedQuantities.flatMap((quantity) => {
    const own = reported[quantity];
    if (own === null) return [];
    const from = { input: 'as reported (uncertainty assumed)', unit: quantities[quantity].siUnit, ...own };
    return [budgetEntry(quantity, from, 1, 'B', 'shot')];
  });
}

function findContactOf(shot: Shot, gear: SettledGear): FoundFirstContact | null {
  const closedFrame = shot.contact?.closedFrame;
  if (shot.cueTrack === undefined || closedFrame === undefined) return null;
  const declared = firstContact(closedFrame, shot.contact?.trimmedStart ?? 0, gear.rig.trimMeaning);
  return findFirstContact(shot.cueTrack, closedFrame, declared, countContact(shot.contact)?.trimmed ?? null, gear);
}

function repeatCounts(shot: Shot): CountedContact[] {
  return shot.repeats.map(({ contact }) => countContact(contact)).filter((count) => count !== null);
}

function strokeOf(shot: Shot, first: FoundFirstContact | null, gear: SettledGear): StrokeResult | null {
  const closedFrame = shot.contact?.closedFrame;
  if (shot.cueTrack === undefined || closedFrame === undefined || first === null) return null;
  return deriveStroke(shot.cueTrack, closedFrame, first.contact, gear);
}

/** An impossible speed makes the acceleration impossible too: one fault for one place. */
function firstOfEachPlace(faults: readonly Fault[]): Fault[] {
  return faults.filter((fault, index) => faults.findIndex((other) => other.pointer === fault.pointer) === index);
}
