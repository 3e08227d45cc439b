/** Texts as codes, found by their UTF-8 bytes, so that a million rows make no million strings. */

export class ByteDictionary {
  readonly names: string[] = [];
  readonly #bytes: Uint8Array[] = [];
  /** Code + 1 by hash, open addressing; 0 is free. */
  #table = new Int32Array(64);

  /** The code of the text in bytes [from, to), a new one for a text never seen. */
  code(source: Uint8Array, from: number, to: number): number {
    let place = this.#place(source, from, to);
    const found = this.#table[place] as number;
    if (found > 0) return found - 1;
    const code = this.names.length;
    this.names.push(new TextDecoder().decode(source.slice(from, to)));
    this.#bytes.push(source.slice(from, to));
    if (2 * this.names.length > this.#table.length) {
      this.#table = new Int32Array(4 * this.#table.length);
      for (const [known, bytes] of this.#bytes.entries()) {
        this.#table[this.#place(bytes, 0, bytes.length)] = known + 1;
      }
      place = this.#place(source, from, to);
    }
    this.#table[place] = code + 1;
    return code;
  }

  /** Where the text is in the table, or the free place where it would be. FNV-1a. */
  #place(source: Uint8Array, from: number, to: number): number {
    let hash = 0x811c9dc5;
    for (let at = from; at < to; at += 1) hash = Math.imul(hash ^ (source[at] as number), 0x01000193);
    const mask = this.#table.length - 1;
    for (let place = (hash ^ (hash >>> 15)) & mask; ; place = (place + 1) & mask) {
      const entry = this.#table[place] as number;
      if (entry === 0 || this.#isAt(entry - 1, source, from, to)) return place;
    }
  }

  #isAt(code: number, source: Uint8Array, from: number, to: number): boolean {
    const bytes = this.#bytes[code] as Uint8Array;
    if (bytes.length !== to - from) return false;
    for (let at = 0; at < bytes.length; at += 1) {
      if (bytes[at] !== source[from + at]) return false;
    }
    return true;
  }
}
