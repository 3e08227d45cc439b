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

const pendingBytes = 1024 * 1024;
/** A batch ends with the piece that brings it to this many shots or bytes. */
const batchShots = 256;
const batchBytes = 2 * 1024 * 1024;

/** A part of the file that is read at once. */
interface Batch {
  readonly start: number;
  readonly bytes: number;
  readonly shots: number;
}

export class Spool {
  readonly #path: string;
  readonly #file: FileHandle;
  #pending: Uint8Array[] = [];
  #pendingBytes = 0;
  #written = 0;
  readonly #batches: Batch[] = [];
  #open: Batch = { start: 0, bytes: 0, shots: 0 };

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
    await this.appendRecords(encodeRecord(shot), 1);
  }

  /** @param records so many records, one after another; not to be written to any more */
  async appendRecords(records: Uint8Array, shots: number): Promise<void> {
    const { start, ...open } = this.#open;
    this.#open = { start, bytes: open.bytes + records.byteLength, shots: open.shots + shots };
    if (this.#open.shots >= batchShots || this.#open.bytes >= batchBytes) this.#closeBatch();
    this.#pending.push(records);
    this.#pendingBytes += records.byteLength;
    if (this.#pendingBytes >= pendingBytes) await this.#flush();
  }

  #closeBatch(): void {
    if (this.#open.shots > 0) this.#batches.push(this.#open);
    this.#open = { start: this.#open.start + this.#open.bytes, bytes: 0, shots: 0 };
  }

  async #flush(): Promise<void> {
    let pieces = this.#pending;
    this.#pending = [];
    this.#pendingBytes = 0;
    while (pieces.length > 0) {
      const { bytesWritten } = await this.#file.writev(pieces, this.#written);
      this.#written += bytesWritten;
      pieces = after(pieces, bytesWritten);
    }
  }

  async #read(batch: Batch, room: Buffer): Promise<Buffer> {
    const bytes = room.byteLength >= batch.bytes ? room : Buffer.allocUnsafeSlow(batch.bytes);
    for (let read = 0; read < batch.bytes; ) {
      const { bytesRead } = await this.#file.read(bytes, read, batch.bytes - read, batch.start + read);
      if (bytesRead === 0) throw new Error('The spool ends in the middle of a record.');
      read += bytesRead;
    }
    return bytes;
  }

  /**
   * The shots in the order sent, in batches. May be read more than once. What a shot holds is overwritten when the second
   * batch after its own is asked for.
   */
  async *batches(): AsyncGenerator<readonly SpooledShot[]> {
    this.#closeBatch();
    await this.#flush();
    // Two rooms, filled in turn: one is read while the other is being stored.
    const rooms: [Buffer, Buffer] = [Buffer.alloc(0), Buffer.alloc(0)];
    for (const [index, batch] of this.#batches.entries()) {
      const turn = index % 2 === 0 ? 0 : 1;
      const bytes = await this.#read(batch, rooms[turn]);
      rooms[turn] = bytes;
      yield recordsOf(bytes, batch.bytes);
    }
  }

  async remove(): Promise<void> {
    await this.#file.close();
    await rm(this.#path, { force: true });
  }
}

/** What is left of the pieces after so many bytes of them. */
function after(pieces: readonly Uint8Array[], bytes: number): Uint8Array[] {
  let done = bytes;
  return pieces.flatMap((piece) => {
    const rest = piece.subarray(Math.min(done, piece.byteLength));
    done -= piece.byteLength - rest.byteLength;
    return rest.byteLength === 0 ? [] : [rest];
  });
}

function recordsOf(bytes: Buffer, length: number): SpooledShot[] {
  const shots: SpooledShot[] = [];
  for (let start = 0; start < length; ) {
    const end = start + 4 + recordLength(bytes.subarray(start, start + 4));
    shots.push(decodeRecord(bytes.subarray(start + 4, end)));
    start = end;
  }
  return shots;
}
