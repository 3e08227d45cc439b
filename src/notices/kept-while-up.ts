/**
 * Values of the database that are kept in memory, by key: only while notices are heard, and only until something says
 * that they may be old.
 */
import type { NoticeFeed } from './notice-feed.ts';

export interface Loaded<Value> {
  readonly value: Value;
  /** How long it may be kept, ms. */
  readonly keepFor: number;
}

export class KeptWhileUp<Value> {
  readonly #feed: Pick<NoticeFeed, 'isUp' | 'onChange'>;
  readonly #mostKeys: number;
  readonly #kept = new Map<string, { readonly value: Value; readonly until: number }>();
  /** Moves whenever what is being loaded may already be old. */
  #generation = 0;

  constructor(feed: Pick<NoticeFeed, 'isUp' | 'onChange'>, mostKeys: number) {
    this.#feed = feed;
    this.#mostKeys = mostKeys;
    feed.onChange(() => this.clear());
  }

  /** The value kept under the key, or loaded now. */
  async get(key: string, load: () => Promise<Loaded<Value>>): Promise<Value> {
    const kept = this.#kept.get(key);
    if (kept !== undefined && kept.until > performance.now()) return kept.value;
    const generation = this.#generation;
    const asked = performance.now();
    const { value, keepFor } = await load();
    if (this.#feed.isUp && generation === this.#generation) {
      if (this.#kept.size >= this.#mostKeys) this.#kept.clear();
      this.#kept.set(key, { value, until: asked + keepFor });
    }
    return value;
  }

  /** Forgets everything, what is being loaded included. */
  clear(): void {
    this.#generation += 1;
    this.#kept.clear();
  }
}
