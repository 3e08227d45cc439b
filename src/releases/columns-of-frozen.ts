/** Frozen shots as the columns that analyses read. */
import { assembleColumns } from '../pooling/assemble-columns.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { rowOfDerived } from '../pooling/row-of-derived.ts';
import type { DerivedFrozenShot } from './frozen-shot.ts';

/**
 * @param receivedAt milliseconds since 1970 at which a shot was first received; without it NaN, as a bundle
 *   holds no clock times
 */
export function columnsOfFrozen<Frozen extends DerivedFrozenShot>(
  shots: readonly Frozen[],
  receivedAt: (shot: Frozen) => number = () => Number.NaN,
): ShotColumns {
  return assembleColumns(
    shots.map((shot) =>
      rowOfDerived(shot.content, shot.derived, {
        lab: shot.lab,
        ordinal: shot.ordinal,
        receivedAt: receivedAt(shot),
      }),
    ),
  );
}
