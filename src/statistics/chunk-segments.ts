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
  let group = -1;
  let chunk = -1;
  for (let place = 0; place < indices.length; place += 1) {
    const row = indices[place] as number;
    const rowGroup = groups[row] as number;
    const rowChunk = Math.floor((ordinals[row] as number) / chunkSize);
    if (rowGroup !== group || rowChunk !== chunk) {
      if (place > from) segments.push({ group, from, to: place });
      from = place;
      group = rowGroup;
      chunk = rowChunk;
    }
  }
  if (indices.length > from) segments.push({ group, from, to: indices.length });
  return segments;
}
