/** Units: each must be known and of the dimension of its quantity; what people type becomes its code. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { Shot } from '../../../shared/shot.ts';
import { lookUpUnit } from '../../../shared/units.ts';
import { unitPlaces, withUnit } from '../measures.ts';

export interface UnitsRead {
  /** The shot with unit codes in place of aliases. */
  readonly shot: Shot;
  readonly faults: readonly Fault[];
  /** Pointers of the holders of units that were refused: their values cannot be judged. */
  readonly refused: ReadonlySet<string>;
}

/** Faults: unit-unknown, unit-dimension, at the unit. */
export function readUnits(sent: Shot): UnitsRead {
  let shot = sent;
  const faults: Fault[] = [];
  const refused = new Set<string>();
  for (const { path, pointer, quantity, unit } of unitPlaces(sent)) {
    const known = lookUpUnit(unit, quantity);
    if (!known.ok) {
      faults.push(fault(known.code, `${pointer}/unit`, `unit ${unit}`, known.expected, known.remedy));
      refused.add(pointer);
    } else if (known.code !== unit) {
      shot = withUnit(shot, path, known.code);
    }
  }
  return { shot, faults, refused };
}
