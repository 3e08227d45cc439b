/** Who a token belongs to, kept in memory while other servers can say that a token was ended. */
import { KeptWhileUp } from '../notices/kept-while-up.ts';
import type { NoticeFeed } from '../notices/notice-feed.ts';
import type { Database } from '../store/database.ts';
import { tokenHash } from './token-text.ts';
import { type FoundPrincipal, findPrincipal } from './tokens.ts';

/** Tokens in use at a time. */
const mostTokens = 10_000;

export class PrincipalBook {
  readonly #db: Database;
  readonly #kept: KeptWhileUp<FoundPrincipal>;

  constructor(db: Database, feed: NoticeFeed) {
    this.#db = db;
    this.#kept = new KeptWhileUp(feed, mostTokens);
    feed.subscribe((notice) => {
      if (notice.kind === 'readAgain' && notice.what === 'tokens') this.clear();
    });
  }

  /** As `findPrincipal`, without asking the database where that asked within the last minute. */
  find(text: string): Promise<FoundPrincipal> {
    return this.#kept.get(Buffer.from(tokenHash(text)).toString('base64'), async () => {
      const value = await findPrincipal(this.#db, text);
      return { value, keepFor: value.ok ? value.keepFor : 0 };
    });
  }

  /** To be called when a token was ended here, before that is acknowledged. */
  clear(): void {
    this.#kept.clear();
  }
}
