/**
 * Sorts more records than fit into memory: runs are sorted in memory, written to one file in the spool directory and
 * merged when read. Records of the same key keep the order in which they came.
 */
import { randomUUID } from 'node:crypto';
import { type FileHandle, mkdir, open, rm } from 'node:fs/promises';
import { join } from 'node:path';

export interface SortedRecord {
  readonly key: Buffer;
  readonly value: Buffer;
}

interface Run {
  readonly start: number;
  readonly end: number;
}

export interface SortLimits {
  /** Bytes of records held before they are written as a run. */
  readonly runBytes: number;
  /** Runs merged at a time, each read through a buffer of its own. */
  readonly fanIn: number;
  readonly readBytes: number;
}

const usual: SortLimits = { runBytes: 8 * 1024 * 1024, fanIn: 64, readBytes: 64 * 1024 };
/** What a record costs in memory beside its bytes. */
const overhead = 200;

function encode({ key, value }: SortedRecord): Buffer {
  const head = Buffer.alloc(8);
  head.writeUInt32LE(key.byteLength, 0);
  head.writeUInt32LE(value.byteLength, 4);
  return Buffer.concat([head, key, value]);
}

export class ExternalSort {
  readonly #path: string;
  readonly #file: FileHandle;
  readonly #limits: SortLimits;
  #records: SortedRecord[] = [];
  #bytes = 0;
  #size = 0;
  #runs: Run[] = [];

  private constructor(path: string, file: FileHandle, limits: SortLimits) {
    this.#path = path;
    this.#file = file;
    this.#limits = limits;
  }

  /** The file has the name of a spool, so that what a killed process left behind is removed at start. */
  static async create(directory: string, limits: SortLimits = usual): Promise<ExternalSort> {
    await mkdir(directory, { recursive: true });
    const path = join(directory, `submission-${randomUUID()}.spool`);
    return new ExternalSort(path, await open(path, 'wx+', 0o600), limits);
  }

  async add(key: Buffer, value: Buffer): Promise<void> {
    this.#records.push({ key, value });
    this.#bytes += key.byteLength + value.byteLength + overhead;
    if (this.#bytes >= this.#limits.runBytes) await this.#endRun();
  }

  async #endRun(): Promise<void> {
    // Array sorting is stable, so equal keys stay in order.
    const sorted = this.#records.sort((one, other) => Buffer.compare(one.key, other.key));
    this.#records = [];
    this.#bytes = 0;
    await this.#write(sorted);
  }

  async #write(records: Iterable<SortedRecord> | AsyncIterable<SortedRecord>): Promise<void> {
    const start = this.#size;
    let pending: Buffer[] = [];
    let bytes = 0;
    const flush = async () => {
      const block = Buffer.concat(pending);
      for (let written = 0; written < block.byteLength; ) {
        const { bytesWritten } = await this.#file.write(block, written, block.byteLength - written, this.#size);
        written += bytesWritten;
        this.#size += bytesWritten;
      }
      pending = [];
      bytes = 0;
    };
    for await (const record of records) {
      const encoded = encode(record);
      pending.push(encoded);
      bytes += encoded.byteLength;
      if (bytes >= this.#limits.readBytes * 4) await flush();
    }
    await flush();
    this.#runs.push({ start, end: this.#size });
  }

  async *#read({ start, end }: Run): AsyncGenerator<SortedRecord> {
    let rest: Buffer = Buffer.alloc(0);
    let position = start;
    const need = async (bytes: number) => {
      while (rest.byteLength < bytes) {
        const block = Buffer.alloc(Math.min(Math.max(this.#limits.readBytes, bytes - rest.byteLength), end - position));
        const { bytesRead } = await this.#file.read(block, 0, block.byteLength, position);
        if (bytesRead === 0) throw new Error('A sorted run ends in the middle of a record.');
        position += bytesRead;
        rest = Buffer.concat([rest, block.subarray(0, bytesRead)]);
      }
    };
    while (position < end || rest.byteLength > 0) {
      await need(8);
      const keyBytes = rest.readUInt32LE(0);
      const length = 8 + keyBytes + rest.readUInt32LE(4);
      await need(length);
      yield { key: rest.subarray(8, 8 + keyBytes), value: rest.subarray(8 + keyBytes, length) };
      rest = rest.subarray(length);
    }
  }

  async *#merge(runs: readonly Run[]): AsyncGenerator<SortedRecord> {
    const readers = runs.map((run) => this.#read(run));
    const heads = await Promise.all(readers.map((reader) => reader.next()));
    for (;;) {
      let least = -1;
      let record: SortedRecord | null = null;
      for (const [index, head] of heads.entries()) {
        if (head.done === true) continue;
        if (record === null || Buffer.compare(head.value.key, record.key) < 0) {
          least = index;
          record = head.value;
        }
      }
      const reader = readers[least];
      if (record === null || reader === undefined) return;
      yield record;
      heads[least] = await reader.next();
    }
  }

  /** The records by key; once. */
  async *sorted(): AsyncGenerator<SortedRecord> {
    if (this.#records.length > 0) await this.#endRun();
    while (this.#runs.length > this.#limits.fanIn) {
      // Neighbours are merged, so that equal keys stay in order.
      const runs = this.#runs;
      this.#runs = [];
      for (let from = 0; from < runs.length; from += this.#limits.fanIn) {
        await this.#write(this.#merge(runs.slice(from, from + this.#limits.fanIn)));
      }
    }
    yield* this.#merge(this.#runs);
  }

  async remove(): Promise<void> {
    await this.#file.close();
    await rm(this.#path, { force: true });
  }
}
