/** Query texts by their SHA-256, so that a dashboard can ask by a short link that proxies cache. */

import { Refusal } from '../../shared/refusal.ts';
import { sha256Hex } from '../pooling/canonical.ts';

/** Texts kept; the one that was not asked for longest goes first. */
const mostTexts = 1000;

export class PersistedQueries {
  readonly #texts = new Map<string, string>();

  /**
   * The text of a hash; a text that comes with its hash is kept.
   *
   * @throws Refusal persisted-query-unknown, or request-invalid when the hash is of another text
   */
  resolve(hash: string, text: string | undefined): string {
    if (text !== undefined) {
      if (sha256Hex(text) !== hash.toLowerCase()) {
        throw new Refusal('request-invalid', 'sha256Hash is not the SHA-256 of the query in hexadecimal.');
      }
      this.#keep(hash.toLowerCase(), text);
      return text;
    }
    const known = this.#texts.get(hash.toLowerCase());
    if (known === undefined)
      throw new Refusal('persisted-query-unknown', 'Send the text of the query once with its hash.');
    this.#keep(hash.toLowerCase(), known);
    return known;
  }

  #keep(hash: string, text: string): void {
    this.#texts.delete(hash);
    this.#texts.set(hash, text);
    const oldest = this.#texts.keys().next();
    if (this.#texts.size > mostTexts && oldest.done !== true) this.#texts.delete(oldest.value);
  }
}
