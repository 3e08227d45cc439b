/** Tip-height readings: a ring counts from the centre both ways, so its side must be said. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { TipHeightReading } from '../../../shared/shot.ts';
import type { CheckInput } from './check-input.ts';

function checkRing(reading: TipHeightReading | undefined, pointer: string): Fault[] {
  if (reading?.method !== 'ring' || reading.side !== undefined || reading.ring === 0) return [];
  return [fault('sign-missing', `${pointer}/side`, `ring ${reading.ring} without side`, "'above' or 'below'")];
}

/** Faults: sign-missing, also of repeat readings. On the centre itself there is no side to say. */
export function checkTipHeight({ shot: { tipHeight, repeats } }: CheckInput): Fault[] {
  const again = repeats.flatMap((one, index) => checkRing(one.tipHeight, `/repeats/${index}/tipHeight`));
  return [...checkRing(tipHeight, '/tipHeight'), ...again];
}
