/**
 * A file in which a submission waits until its transaction: everything sent is checked and derived by then, and no
 * transaction is open while bytes arrive. The file is removed whatever happens; what a killed process left behind is
 * removed with its directory (spool-directory.ts).
 */
import { randomUUID } from 'node:crypto';
import { type FileHandle, mkdir, open, rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { PreparedShot } from './prepared-shot.ts';
import { decodeRecord, encodeRecord, recordLength } from './spool-record.ts';
import type { SpooledShot } from './spooled-shot.ts';

const bufferBytes = 1024 * 1024;
/** A batch holds at most this many shots and about this many bytes. */
const batchShots = 256;
const batchBytes = 2 * 1024 * 1024;

export class Spool {
  readonly #path: string;
  readonly #file: FileHandle;
  #pending: Uint8Array[] = [];
  #pendingBytes = 0;
  #size = 0;

  private constructor(path: string, file: FileHandle) {
    this.#path = path;
    this.#file = file;
  }

  static async create(directory: string): Promise<Spool> {
    await mkdir(directory, { recursive: true });
    const path = join(directory, `submission-${randomUUID()}.spool`);
    return new Spool(path, await open(path, 'wx+', 0o600));
  }

  async append(shot: PreparedShot): Promise<void> {
    await this.appendRecords(encodeRecord(shot));
  }

  /** @param record one or more records, whole */
  async appendRecords(record: Uint8Array): Promise<void> {
    this.#pending.push(record);
    this.#pendingBytes += record.byteLength;
    if (this.#pendingBytes >= bufferBytes) await this.#flush();
  }

  async #flush(): Promise<void> {
    const bytes = Buffer.concat(this.#pending);
    this.#pending = [];
    this.#pendingBytes = 0;
    for (let written = 0; written < bytes.byteLength; ) {
      const { bytesWritten } = await this.#file.write(bytes, written, bytes.byteLength - written, this.#size);
      written += bytesWritten;
      this.#size += bytesWritten;
    }
  }

  async #readBlock(position: number): Promise<Buffer> {
    const bytes = Buffer.alloc(Math.min(bufferBytes, this.#size - position));
    const { bytesRead } = await this.#file.read(bytes, 0, bytes.byteLength, position);
    if (bytesRead === 0) throw new Error('The spool ends in the middle of a record.');
    return bytes.subarray(0, bytesRead);
  }

  async *#records(): AsyncGenerator<Buffer> {
    let rest: Buffer = Buffer.alloc(0);
    let position = 0;
    for (;;) {
      while (rest.byteLength < 4 || rest.byteLength < 4 + recordLength(rest)) {
        if (position >= this.#size && rest.byteLength === 0) return;
        const block = await this.#readBlock(position);
        position += block.byteLength;
        rest = Buffer.concat([rest, block]);
      }
      const end = 4 + recordLength(rest);
      yield rest.subarray(4, end);
      rest = rest.subarray(end);
    }
  }

  /** The shots in the order sent, in batches. May be read more than once. */
  async *batches(): AsyncGenerator<readonly SpooledShot[]> {
    await this.#flush();
    let batch: SpooledShot[] = [];
    let bytes = 0;
    for await (const record of this.#records()) {
      batch.push(decodeRecord(record));
      bytes += record.byteLength;
      if (batch.length >= batchShots || bytes >= batchBytes) {
        yield batch;
        batch = [];
        bytes = 0;
      }
    }
    if (batch.length > 0) yield batch;
  }

  async remove(): Promise<void> {
    await this.#file.close();
    await rm(this.#path, { force: true });
  }
}
