/** Times of pieces of work that take turns, so that whatever else the machine does meets all of them alike. */

export interface Rounds {
  /** Rounds before anything is kept. */
  readonly warmUp: number;
  /** Rounds kept, unless the time runs out. */
  readonly rounds: number;
  /** Seconds after which no further round begins, though at least `least` are kept. */
  readonly seconds: number;
  readonly least: number;
}

/**
 * Runs every piece once a round, in the order given in even rounds and backwards in odd ones.
 * @param work pieces by name; each gets the number of the round, so that it can do something never done before
 * @param prepare runs before each round, outside the clock
 * @returns median time of each in ms
 */
export async function medianTimes<Name extends string>(
  work: Readonly<Record<Name, (round: number) => unknown>>,
  { warmUp, rounds, seconds, least }: Rounds,
  prepare: (round: number) => unknown = () => {},
): Promise<Record<Name, number>> {
  const names = Object.keys(work) as Name[];
  const times = new Map(names.map((name) => [name, [] as number[]]));
  let started = performance.now();
  for (let round = 0; round < warmUp + rounds; round += 1) {
    if (round === warmUp) started = performance.now();
    if (round >= warmUp + least && performance.now() - started > 1000 * seconds) break;
    await prepare(round);
    for (const name of round % 2 === 0 ? names : names.toReversed()) {
      const before = performance.now();
      await work[name](round);
      const time = performance.now() - before;
      if (round >= warmUp) times.get(name)?.push(time);
    }
  }
  return Object.fromEntries(names.map((name) => [name, median(times.get(name) ?? [])])) as Record<Name, number>;
}

/** The middle value, or the mean of the two middle ones. */
export function median(values: readonly number[]): number {
  if (values.length === 0) throw new RangeError('There is no median of nothing.');
  const sorted = values.toSorted((a, b) => a - b);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] as number;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] as number) + upper) / 2;
}
