/** Why a result is null. */
import type { DerivedShot } from '../../shared/derivation.ts';

type NullReason = DerivedShot['reasons'][string];

const resultNames = [
  'cueSpeed',
  'cueAcceleration',
  'contactTime',
  'countedContactTime',
  'tipOffset',
  'tipHeight',
  'objectBallDistance',
  'outcomeDistance',
  'ballSpeed',
  'cueMass',
  'elevation',
] as const;
type ResultName = (typeof resultNames)[number];

export interface ReasonInput {
  readonly contactCounted: boolean;
  readonly speedLost: boolean;
  readonly accelerationLost: boolean;
  readonly orderOne: boolean;
  readonly outcome: NullReason | null;
  readonly hasCue: boolean;
  readonly objectBallDistanceSent: boolean;
}

/** One reason for each result that is null, in a fixed order. */
export function nullReasons(values: Readonly<Record<ResultName, unknown>>, input: ReasonInput): DerivedShot['reasons'] {
  const known: Partial<Record<ResultName, NullReason>> = {};
  if (input.speedLost) known.cueSpeed = 'notResolved';
  if (input.accelerationLost) known.cueAcceleration = 'notResolved';
  if (input.orderOne) known.cueAcceleration = 'orderOneHasNoAcceleration';
  if (input.contactCounted) known.contactTime = 'notResolved';
  if (input.objectBallDistanceSent) known.objectBallDistance = 'needsTable';
  if (input.outcome !== null) known.outcomeDistance = input.outcome;
  if (!input.hasCue) known.cueMass = 'needsCue';

  const reasons: DerivedShot['reasons'] = {};
  for (const name of resultNames) if (values[name] === null) reasons[name] = known[name] ?? 'notSent';
  return reasons;
}
