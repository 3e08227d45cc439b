/** Columns of releases asked of before: a release never changes, so neither do they. */
import type { ShotColumns } from './columns.ts';

/** Shots of all releases that are kept; one takes about 350 bytes. */
const mostShots = 500_000;

export class KeptReleases {
  /** By digest, the longest unused first. */
  readonly #kept = new Map<string, ShotColumns>();
  readonly #mostShots: number;

  constructor(most = mostShots) {
    this.#mostShots = most;
  }

  /** The columns kept under a digest, or loaded now. */
  async columns(digest: string, load: () => Promise<ShotColumns>): Promise<ShotColumns> {
    const kept = this.#kept.get(digest);
    const columns = kept ?? (await load());
    this.#kept.delete(digest);
    this.#kept.set(digest, columns);
    let shots = 0;
    for (const { count } of this.#kept.values()) shots += count;
    for (const [oldest, { count }] of this.#kept) {
      if (shots <= this.#mostShots) break;
      this.#kept.delete(oldest);
      shots -= count;
    }
    return columns;
  }
}
