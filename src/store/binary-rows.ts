/**
 * Rows in PostgreSQL's binary form of COPY: each field is its length (-1 for null) and its bytes, big-endian. Written
 * once where the values are, they need no text, no escaping and no parsing on their way into a table.
 */

/** 2000-01-01, from which PostgreSQL counts times and dates, in milliseconds since 1970. */
const postgresEpoch = 946_684_800_000;
const dayMilliseconds = 86_400_000;
const firstBytes = 8192;

export class BinaryRows {
  #bytes = Buffer.allocUnsafeSlow(firstBytes);
  #length = 0;

  /** Bytes written so far. */
  get byteLength(): number {
    return this.#length;
  }

  /** What was written, valid until more is written. */
  get bytes(): Buffer {
    return this.#bytes.subarray(0, this.#length);
  }

  /** Forgets what was written and keeps the room. */
  clear(): void {
    this.#length = 0;
  }

  #claim(count: number): number {
    const at = this.#length;
    const needed = at + count;
    if (needed > this.#bytes.byteLength) {
      const larger = Buffer.allocUnsafeSlow(Math.max(needed, 2 * this.#bytes.byteLength));
      this.#bytes.copy(larger, 0, 0, at);
      this.#bytes = larger;
    }
    this.#length = needed;
    return at;
  }

  #field(length: number): number {
    const at = this.#claim(4 + length);
    this.#bytes.writeInt32BE(length, at);
    return at + 4;
  }

  /** Begins a row of so many fields. */
  row(fields: number): this {
    const at = this.#claim(2);
    this.#bytes.writeInt16BE(fields, at);
    return this;
  }

  null(): this {
    const at = this.#claim(4);
    this.#bytes.writeInt32BE(-1, at);
    return this;
  }

  boolean(value: boolean): this {
    const at = this.#field(1);
    this.#bytes[at] = value ? 1 : 0;
    return this;
  }

  int2(value: number): this {
    const at = this.#field(2);
    this.#bytes.writeInt16BE(value, at);
    return this;
  }

  int4(value: number | null): this {
    if (value === null) return this.null();
    const at = this.#field(4);
    this.#bytes.writeInt32BE(value, at);
    return this;
  }

  int8(value: number): this {
    const at = this.#field(8);
    this.#bytes.writeBigInt64BE(BigInt(value), at);
    return this;
  }

  float8(value: number | null): this {
    if (value === null) return this.null();
    const at = this.#field(8);
    this.#bytes.writeDoubleBE(value, at);
    return this;
  }

  text(value: string | null): this {
    if (value === null) return this.null();
    const length = Buffer.byteLength(value);
    const at = this.#field(length);
    this.#bytes.write(value, at);
    return this;
  }

  /** bytea, and json, whose binary form is its text. */
  binary(value: Uint8Array | null): this {
    if (value === null) return this.null();
    const at = this.#field(value.byteLength);
    this.#bytes.set(value, at);
    return this;
  }

  /** jsonb from its text, in front of which stands the number of its format. */
  jsonb(text: Uint8Array): this {
    const at = this.#field(1 + text.byteLength);
    this.#bytes[at] = 1;
    this.#bytes.set(text, at + 1);
    return this;
  }

  /** bytea and uuid from hexadecimal digits; the hyphens of a uuid are left out. */
  hexadecimal(value: string | null): this {
    if (value === null) return this.null();
    const digits = value.replaceAll('-', '');
    const at = this.#field(digits.length / 2);
    this.#bytes.write(digits, at, 'hex');
    return this;
  }

  /** @param microseconds since 1970 */
  timestamp(microseconds: number): this {
    return this.int8(microseconds - 1000 * postgresEpoch);
  }

  /** @param value YYYY-MM-DD */
  date(value: string | null): this {
    if (value === null) return this.null();
    return this.int4((Date.parse(`${value}T00:00:00Z`) - postgresEpoch) / dayMilliseconds);
  }

  /** Whole fields that another writer wrote. */
  fields(bytes: Uint8Array): this {
    const at = this.#claim(bytes.byteLength);
    this.#bytes.set(bytes, at);
    return this;
  }
}
