/**
 * Every notice of the database, heard over one dedicated connection. While that is down nothing may be taken as
 * current without asking the database; when it is up again, whatever is kept must be read again, as notices were missed.
 *
 *   const feed = openNoticeFeed(database);
 *   const stop = feed.subscribe((notice) => { if (notice.kind === 'releaseFrozen') ... });
 */
import type { Listening, OpenDatabase } from '../store/database.ts';
import { type Notice, noticeChannel, parseNotice } from './notice.ts';

export interface NoticeFeed {
  /** Whether notices are heard now. */
  readonly isUp: boolean;
  /** @returns a function that ends the subscription */
  subscribe(hear: (notice: Notice) => void): () => void;
  /** Tells every change, not the present state. @returns a function that ends it */
  onChange(hear: (isUp: boolean) => void): () => void;
  /** Resolves when it is up, at once when it is. */
  whenUp(): Promise<void>;
  close(): Promise<void>;
}

const shortestWait = 100;
const longestWait = 2_000;

/** Opens the feed and keeps it open: a lost connection is made again until `close`. */
export function openNoticeFeed(database: Pick<OpenDatabase, 'listen'>): NoticeFeed {
  return new Feed(database);
}

class Feed implements NoticeFeed {
  readonly #database: Pick<OpenDatabase, 'listen'>;
  readonly #subscribers = new Set<(notice: Notice) => void>();
  readonly #watchers = new Set<(isUp: boolean) => void>();
  #listening: Listening | null = null;
  #closed = false;
  #wake: () => void = () => {};
  readonly #work: Promise<void>;

  constructor(database: Pick<OpenDatabase, 'listen'>) {
    this.#database = database;
    this.#work = this.#keepUp();
  }

  get isUp(): boolean {
    return this.#listening !== null;
  }

  subscribe(hear: (notice: Notice) => void): () => void {
    this.#subscribers.add(hear);
    return () => void this.#subscribers.delete(hear);
  }

  onChange(hear: (isUp: boolean) => void): () => void {
    this.#watchers.add(hear);
    return () => void this.#watchers.delete(hear);
  }

  whenUp(): Promise<void> {
    if (this.isUp) return Promise.resolve();
    return new Promise((resolve) => {
      const stop = this.onChange((isUp) => {
        if (!isUp) return;
        stop();
        resolve();
      });
    });
  }

  async close(): Promise<void> {
    this.#closed = true;
    this.#wake();
    await this.#listening?.close();
    await this.#work;
    this.#subscribers.clear();
    this.#watchers.clear();
  }

  async #keepUp(): Promise<void> {
    let wait = shortestWait;
    while (!this.#closed) {
      const listening = await this.#database.listen(noticeChannel, (text) => this.#hear(text)).catch(() => null);
      if (listening === null) {
        await this.#pause(wait);
        wait = Math.min(2 * wait, longestWait);
        continue;
      }
      wait = shortestWait;
      if (this.#closed) return listening.close();
      this.#listening = listening;
      this.#tell(true);
      await listening.lost;
      this.#listening = null;
      this.#tell(false);
    }
  }

  #hear(text: string): void {
    const notice = parseNotice(text);
    if (notice === null) return;
    for (const hear of this.#subscribers) hear(notice);
  }

  #tell(isUp: boolean): void {
    for (const hear of this.#watchers) hear(isUp);
  }

  #pause(milliseconds: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, milliseconds);
      // Waiting to be connected again keeps no process alive.
      timer.unref();
      this.#wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  }
}
