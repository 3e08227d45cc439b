/**
 * The parts of a multipart body as one stream of bytes that no longer depends on its boundary or on how it was cut on
 * the way, so that the same parts always are the same bytes: for each part the length of its name (uint32,
 * little-endian) and the name, then blocks of its content, each with its length before it, ended by a length of 0.
 */
import { once } from 'node:events';
import type { Readable } from 'node:stream';
import { Busboy } from '@fastify/busboy';
import { Refusal } from '../../../shared/refusal.ts';

const blockBytes = 16 * 1024;
const mostParts = 20;

function withLength(bytes: Uint8Array): Uint8Array {
  const framed = Buffer.alloc(4 + bytes.byteLength);
  framed.writeUInt32LE(bytes.byteLength, 0);
  framed.set(bytes, 4);
  return framed;
}

function malformed(error: unknown): Refusal {
  const reason = error instanceof Error ? error.message : String(error);
  return new Refusal('malformed-body', `The multipart body cannot be read: ${reason}.`, { cause: error });
}

type Parser = InstanceType<typeof Busboy>;

interface Part {
  readonly name: string;
  readonly content: Readable;
}

/** What the parser has found and nobody has taken yet. */
class Found {
  readonly #parts: Part[] = [];
  #ended = false;
  #error: unknown = null;
  #wake: () => void = () => {};

  push(part: Part): void {
    this.#parts.push(part);
    this.#wake();
  }

  end(error: unknown = null): void {
    this.#ended = true;
    this.#error ??= error;
    for (const { content } of this.#parts) content.destroy();
    this.#wake();
  }

  /** The next part, or null after the last. */
  async next(): Promise<Part | null> {
    for (;;) {
      const part = this.#parts.shift();
      if (this.#error !== null) throw this.#error;
      if (part !== undefined) return part;
      if (this.#ended) return null;
      await new Promise<void>((resolve) => {
        this.#wake = resolve;
      });
    }
  }
}

/** Feeds the parser as fast as its parts are read. */
async function feed(chunks: AsyncIterable<Uint8Array>, parser: Parser, stop: AbortSignal): Promise<void> {
  for await (const chunk of chunks) {
    if (stop.aborted) return;
    if (!parser.write(chunk)) await once(parser, 'drain', { signal: stop });
  }
  parser.end();
}

async function* blocksOf(content: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  let pending: Buffer = Buffer.alloc(0);
  for await (const chunk of content) {
    pending = Buffer.concat([pending, chunk]);
    for (; pending.byteLength >= blockBytes; pending = pending.subarray(blockBytes)) {
      yield withLength(pending.subarray(0, blockBytes));
    }
  }
  if (pending.byteLength > 0) yield withLength(pending);
  yield withLength(new Uint8Array(0));
}

/**
 * @param contentType with the boundary
 * @throws Refusal malformed-body; whatever the body throws
 */
export async function* frameParts(chunks: AsyncIterable<Uint8Array>, contentType: string): AsyncGenerator<Uint8Array> {
  let parser: Parser;
  try {
    // Every part is a file: a field would be held in memory, and cut at a limit without a word.
    parser = new Busboy({
      headers: { 'content-type': contentType },
      isPartAFile: () => true,
      limits: { parts: mostParts },
    });
  } catch (error) {
    throw malformed(error);
  }
  const found = new Found();
  const stop = new AbortController();
  let open: Readable | null = null;
  const fail = (error: unknown) => {
    found.end(error);
    open?.destroy(error instanceof Error ? error : malformed(error));
  };
  parser.on('file', (name, content) => found.push({ name, content }));
  parser.on('partsLimit', () => fail(new Refusal('request-invalid', `The body has more than ${mostParts} parts.`)));
  parser.on('finish', () => found.end());
  parser.on('error', (error) => fail(malformed(error)));
  void feed(chunks, parser, stop.signal).catch(fail);
  try {
    for (let part = await found.next(); part !== null; part = await found.next()) {
      open = part.content;
      open.on('error', () => {});
      yield withLength(Buffer.from(part.name));
      yield* blocksOf(part.content);
      open = null;
    }
  } finally {
    stop.abort();
    parser.destroy();
  }
}
