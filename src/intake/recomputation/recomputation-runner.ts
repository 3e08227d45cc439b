/** Runs recomputations in the background of a server, and goes on with what a killed server left unfinished. */
import { eq } from 'drizzle-orm';
import type { Methods } from '../../derivation/methods.ts';
import type { Database } from '../../store/database.ts';
import { recomputation } from '../../store/schema.ts';
import { compareMethods } from './compare-methods.ts';
import { derivePending } from './derive-pending.ts';
import { unfinishedRecomputations } from './recomputations.ts';

export interface RunnerOptions {
  readonly db: Database;
  readonly methods: Methods;
  /** Told of what went wrong; the recomputation then says that it failed. */
  readonly onFailure: (error: unknown) => void;
}

/** Two servers that run the same recomputation do no harm: what one has derived, the other skips or drops. */
export class RecomputationRunner {
  readonly #options: RunnerOptions;
  readonly #stop = new AbortController();
  #running: Promise<void> | null = null;
  /** Woken while at work: what was asked for since may not be in the list at hand. */
  #wokenAgain = false;

  constructor(options: RunnerOptions) {
    this.#options = options;
  }

  /** Works on whatever is unfinished, and once more if it is at work already. */
  wake(): void {
    this.#wokenAgain = true;
    this.#running ??= this.#workWhileWoken().finally(() => {
      this.#running = null;
    });
  }

  /** Resolves when there is nothing left to do, or it failed. */
  async idle(): Promise<void> {
    await this.#running;
  }

  /** Stops after the shot at hand. Call before the database is closed. */
  async stop(): Promise<void> {
    this.#stop.abort();
    await this.#running;
  }

  async #workWhileWoken(): Promise<void> {
    while (this.#wokenAgain && !this.#stop.signal.aborted) {
      this.#wokenAgain = false;
      await this.#work();
    }
  }

  async #work(): Promise<void> {
    const { db, methods, onFailure } = this.#options;
    try {
      for (const row of await unfinishedRecomputations(db)) {
        const derive = methods.get(row.toMethod);
        if (derive !== undefined && row.failure === null) await this.#finish(row, derive);
      }
    } catch (error) {
      onFailure(error);
    }
  }

  async #finish(
    { id, fromMethod, toMethod }: typeof recomputation.$inferSelect,
    derive: Parameters<typeof derivePending>[1]['derive'],
  ): Promise<void> {
    const { db, onFailure } = this.#options;
    try {
      const { signal } = this.#stop;
      if (!(await derivePending(db, { recomputation: id, method: toMethod, derive, signal }))) return;
      const changes = await compareMethods(db, fromMethod, toMethod);
      await db.update(recomputation).set({ finishedAt: new Date(), changes }).where(eq(recomputation.id, id));
    } catch (error) {
      onFailure(error);
      const failure = 'It stopped at an error, which is in the log of the server; what was derived is kept.';
      await db.update(recomputation).set({ failure }).where(eq(recomputation.id, id));
    }
  }
}
