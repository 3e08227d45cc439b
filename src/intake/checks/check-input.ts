/** What a check of one shot looks at. */
import type { Shot } from '../../../shared/shot.ts';
import type { UsedGear } from '../../derivation/gear.ts';
import { type SettledGear, settleGear } from '../../derivation/settle-gear.ts';

export interface CheckInput {
  /** The shot with unit codes after aliasing. */
  readonly shot: Shot;
  /** Null when the shot names gear that the lab does not have. */
  readonly gear: SettledGear | null;
  /** name@version of the rig, as faults call it. */
  readonly rigName: string;
  /** Pointers of measures whose unit was refused: they are not judged further. */
  readonly refusedUnits: ReadonlySet<string>;
}

/** @param gear null when the shot names gear that the lab does not have */
export function checkInput(shot: Shot, gear: UsedGear | null, refusedUnits: ReadonlySet<string>): CheckInput {
  const rigName = gear === null ? shot.rig : `${gear.rig.name}@${gear.rig.version}`;
  return { shot, gear: gear === null ? null : settleGear(gear), rigName, refusedUnits };
}
