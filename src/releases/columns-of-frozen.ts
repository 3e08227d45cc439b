/** Frozen shots as the columns that analyses read. */
import { assembleColumns } from '../pooling/assemble-columns.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { type RowContent, rowOfDerived } from '../pooling/row-of-derived.ts';
import type { DerivedFrozenShot } from './frozen-shot.ts';

/** The content as columns read it: a curated term in place of the lab's code. */
function withTerms({ content, terms }: DerivedFrozenShot): RowContent {
  const { strokeStyle = null, grip = null } = terms ?? {};
  return {
    ...content,
    ...(strokeStyle === null ? {} : { strokeStyle: `=${strokeStyle}` }),
    ...(grip === null ? {} : { grip: `=${grip}` }),
  };
}

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
      rowOfDerived(withTerms(shot), shot.derived, {
        lab: shot.lab,
        ordinal: shot.ordinal,
        receivedAt: receivedAt(shot),
      }),
    ),
  );
}
