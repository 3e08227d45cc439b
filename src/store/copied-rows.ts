/**
 * Reads the binary format of COPY (PostgreSQL manual, COPY, Binary Format): a header of 11 signature bytes, flags and an
 * extension; for each row the number of fields as int16, then each field as int32 length (-1: null) and bytes in network
 * order; -1 as the number of fields ends it.
 */

const signature = Uint8Array.of(0x50, 0x47, 0x43, 0x4f, 0x50, 0x59, 0x0a, 0xff, 0x0d, 0x0a, 0x00);

/**
 * One row: `at` is where its first field begins. A reader takes the fields one after the other:
 * `const length = view.getInt32(at); at += 4;` then `length` bytes unless it is -1.
 */
export type TakeRow = (view: DataView, bytes: Uint8Array, at: number) => number;

export class CopiedRows {
  readonly #fields: number;
  readonly #take: TakeRow;
  #begun = false;
  #ended = false;

  /**
   * @param fields of each row
   * @param take reads one row and returns where it ends
   */
  constructor(fields: number, take: TakeRow) {
    this.#fields = fields;
    this.#take = take;
  }

  /**
   * Whole rows; the header comes before the first. A server sends one row a message and never parts of one.
   * @throws Error when this is not what COPY writes
   */
  push(bytes: Uint8Array): void {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    let at = this.#begun ? 0 : this.#header(view, bytes);
    while (at < bytes.byteLength && !this.#ended) {
      const fields = view.getInt16(at);
      at += 2;
      if (fields === -1) this.#ended = true;
      else if (fields !== this.#fields) throw new Error(`a row has ${fields} fields, not ${this.#fields}`);
      else at = this.#take(view, bytes, at);
    }
  }

  #header(view: DataView, bytes: Uint8Array): number {
    if (signature.some((byte, place) => bytes[place] !== byte))
      throw new Error('this is not the binary format of COPY');
    this.#begun = true;
    return 19 + view.getInt32(15);
  }
}
