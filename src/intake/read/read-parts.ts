/** The parts of a framed body, one after the other; each must be read to its end before the next. */
import { Refusal } from '../../../shared/refusal.ts';

export interface UploadPart {
  readonly name: string;
  readonly content: AsyncIterable<Uint8Array>;
}

/** Takes exact numbers of bytes out of chunks. */
class ByteReader {
  readonly #chunks: AsyncIterator<Uint8Array>;
  #rest: Buffer = Buffer.alloc(0);

  constructor(chunks: AsyncIterable<Uint8Array>) {
    this.#chunks = chunks[Symbol.asyncIterator]();
  }

  /** Null at the end of the body. */
  async take(length: number): Promise<Buffer | null> {
    while (this.#rest.byteLength < length) {
      const next = await this.#chunks.next();
      if (next.done === true) {
        if (this.#rest.byteLength === 0) return null;
        throw new Refusal('malformed-body', 'The multipart body ends in the middle of a part.');
      }
      this.#rest = Buffer.concat([this.#rest, next.value]);
    }
    const taken = this.#rest.subarray(0, length);
    this.#rest = this.#rest.subarray(length);
    return taken;
  }

  async block(): Promise<Buffer | null> {
    const head = await this.take(4);
    if (head === null) return null;
    const length = head.readUInt32LE(0);
    return length === 0 ? Buffer.alloc(0) : await this.take(length);
  }

  async close(): Promise<void> {
    await this.#chunks.return?.();
  }
}

async function* contentOf(reader: ByteReader): AsyncGenerator<Uint8Array> {
  for (;;) {
    const block = await reader.block();
    if (block === null) throw new Refusal('malformed-body', 'The multipart body ends in the middle of a part.');
    if (block.byteLength === 0) return;
    yield block;
  }
}

/** @param framed as `frameParts` gives it */
export async function* readParts(framed: AsyncIterable<Uint8Array>): AsyncGenerator<UploadPart> {
  const reader = new ByteReader(framed);
  try {
    for (let name = await reader.block(); name !== null; name = await reader.block()) {
      yield { name: name.toString(), content: contentOf(reader) };
    }
  } finally {
    await reader.close();
  }
}
