/** A long track thinned by averaging neighbouring points: white noise loses nothing by it. */

/** At most `most` points (times and positions), each the mean of equally many neighbours. */
export function averageBlocks(
  times: Float64Array,
  positions: Float64Array,
  most: number,
): { readonly times: Float64Array; readonly positions: Float64Array } {
  const size = Math.ceil(times.length / most);
  if (size <= 1) return { times, positions };
  const count = Math.floor(times.length / size);
  const mean = (values: Float64Array, block: number) => {
    let sum = 0;
    for (let i = block * size; i < (block + 1) * size; i += 1) sum += values[i] as number;
    return sum / size;
  };
  return {
    times: Float64Array.from({ length: count }, (_, block) => mean(times, block)),
    positions: Float64Array.from({ length: count }, (_, block) => mean(positions, block)),
  };
}
