/** Tip-height readings: a ring counts from the centre both ways, so its side must be said. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { CheckInput } from './check-input.ts';

/** Faults: sign-missing. On the centre itself there is no side to say. */
export function checkTipHeight({ shot: { tipHeight } }: CheckInput): Fault[] {
  if (tipHeight?.method !== 'ring' || tipHeight.side !== undefined || tipHeight.ring === 0) return [];
  return [fault('sign-missing', '/tipHeight/side', `ring ${tipHeight.ring} without side`, "'above' or 'below'")];
}
