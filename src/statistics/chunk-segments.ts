/** Cuts selected rows into the chunks in which moments are taken. */
import { chunkSize, type Segment } from './moments.ts';

/**
 * Segments of the selected rows: a new one begins with every group and with every multiple of 8192 among the ordinals.
 * The cut depends on the ordinals and not on the rows left out, so a chunk stays the same when others change.
 *
 * @param groups group code of each row, rows of one group adjacent
 * @param ordinals place of each row within its group, ascending within a group
 * @param indices rows that take part, ascending
 */
export function chunkSegments(groups: Int32Array, ordinals: Int32Array, indices: Int32Array): Segment[] {
  const segments: Segment[] = [];
  let from = 0;
  while (from < indices.length) {
    const row = indices[from] as number;
    const group = groups[row] as number;
    const end = (Math.floor((ordinals[row] as number) / chunkSize) + 1) * chunkSize;
    // A chunk has at most as many rows as ordinals, and a group that was left does not come again: halving finds its end.
    let inside = from;
    let outside = Math.min(from + chunkSize, indices.length);
    while (outside - inside > 1) {
      const middle = (inside + outside) >>> 1;
      const other = indices[middle] as number;
      if (groups[other] === group && (ordinals[other] as number) < end) inside = middle;
      else outside = middle;
    }
    segments.push({ group, from, to: outside });
    from = outside;
  }
  return segments;
}

/** Stretches of the selected rows that belong to one group each, in their order; rows as for `chunkSegments`. */
export function groupStretches(groups: Int32Array, indices: Int32Array): Segment[] {
  const stretches: Segment[] = [];
  let from = 0;
  while (from < indices.length) {
    const group = groups[indices[from] as number] as number;
    let inside = from;
    let outside = indices.length;
    while (outside - inside > 1) {
      const middle = (inside + outside) >>> 1;
      if (groups[indices[middle] as number] === group) inside = middle;
      else outside = middle;
    }
    stretches.push({ group, from, to: outside });
    from = outside;
  }
  return stretches;
}
