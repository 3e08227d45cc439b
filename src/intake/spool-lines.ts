/**
 * Reads NDJSON into a spool. A body longer than one piece is prepared piece by piece in threads, as many at a time as
 * there are, so that it takes both cores and neither other requests nor the arriving bytes wait for it.
 */
import { availableParallelism } from 'node:os';
import { Refusal } from '../../shared/refusal.ts';
import type { GearBook } from '../access/gear.ts';
import type { Database } from '../store/database.ts';
import { ThreadPool } from '../threads/thread-pool.ts';
import type { PinnedGear } from './gear-references.ts';
import { type LinesToPrepare, type PreparedLines, prepareLines } from './prepare-lines.ts';
import { type LineChunk, lineChunks } from './read/line-chunks.ts';
import { locate } from './read/locate.ts';
import { SeenInSubmission } from './seen-in-submission.ts';
import type { Spool } from './spool.ts';
import { withFaults } from './spool-record.ts';
import type { SpooledShots } from './spool-shots.ts';
import { findStoredShots } from './store/find-stored-shots.ts';

const threads = Math.min(availableParallelism(), 4);
/** Bounds the memory of an upload: pieces that are being prepared or wait for it. */
const piecesInFlight = threads + 1;
/** Uploads wait for each other here, piece by piece; each has only a few pieces in flight. */
const pool = new ThreadPool({
  threads,
  queue: Number.POSITIVE_INFINITY,
  // Garbage of shots is short-lived: a small young generation costs little time and saves much memory.
  resourceLimits: { maxYoungGenerationSizeMb: 8, maxOldGenerationSizeMb: 256 },
});
/** About 30 MB. */
const piecesOfLongUpload = 250;
const module = new URL('./prepare-lines.ts', import.meta.url);

const inThread = (input: LinesToPrepare): Promise<PreparedLines> => pool.run<PreparedLines>({ module, input });
const inPlace = async (input: LinesToPrepare): Promise<PreparedLines> => prepareLines(input);

/** The gear that stored shots of these labels keep. */
async function pinsOf(db: Database, labId: number, labels: readonly string[]): Promise<Map<string, PinnedGear>> {
  const stored = await findStoredShots(db, labId, labels);
  return new Map([...stored].map(([label, { gear }]) => [label, gear]));
}

class LinesPreparer {
  readonly #db: Database;
  readonly #labId: number;
  readonly #job: Pick<LinesToPrepare, 'gear' | 'activeMethod'>;
  /** Whether a shot of this upload is stored already: then labels are looked up before shots are prepared. */
  #sentBefore = false;

  constructor(db: Database, labId: number, job: Pick<LinesToPrepare, 'gear' | 'activeMethod'>) {
    this.#db = db;
    this.#labId = labId;
    this.#job = job;
  }

  async prepare(chunk: LineChunk, run: typeof inThread): Promise<PreparedLines> {
    const job = { ...this.#job, chunk };
    const first = await run({ ...job, pins: this.#sentBefore ? null : new Map() });
    const pins = await pinsOf(this.#db, this.#labId, first.openLabels);
    if (pins.size > 0) this.#sentBefore = true;
    else if (first.ends.length > 0) return first;
    return run({ ...job, pins });
  }
}

/** The prepared pieces in the order sent; what is wrong with the body is told after what came before it. */
async function* preparedChunks(
  chunks: AsyncGenerator<LineChunk>,
  preparer: LinesPreparer,
): AsyncGenerator<{ readonly chunk: LineChunk; readonly prepared: PreparedLines }> {
  const inFlight: { readonly chunk: LineChunk; readonly prepared: Promise<PreparedLines> }[] = [];
  const begin = (chunk: LineChunk, run: typeof inThread): void => {
    const prepared = preparer.prepare(chunk, run);
    // Heard when it is awaited; until then a failure must not pass for one that nobody hears.
    prepared.catch(() => {});
    inFlight.push({ chunk, prepared });
  };
  let failure: { readonly error: unknown } | null = null;
  const next = async (): Promise<LineChunk | null> => {
    try {
      const read = await chunks.next();
      return read.done === true ? null : read.value;
    } catch (error) {
      failure = { error };
      return null;
    }
  };
  try {
    let held = await next();
    for (let isFirst = true; held !== null; isFirst = false) {
      const following = await next();
      begin(held, isFirst && following === null ? inPlace : inThread);
      held = following;
      while (inFlight.length >= piecesInFlight) {
        const { chunk, prepared } = inFlight.shift() as (typeof inFlight)[number];
        yield { chunk, prepared: await prepared };
      }
    }
    for (const { chunk, prepared } of inFlight) yield { chunk, prepared: await prepared };
  } finally {
    await chunks.return(undefined);
  }
  if (failure !== null) throw (failure as { readonly error: unknown }).error;
}

/** The records of a piece with what only the whole submission shows: labels that came before. */
function withSeen(
  { records, ends, labels }: PreparedLines,
  { rows }: LineChunk,
  seen: SeenInSubmission,
): { readonly records: Uint8Array; readonly twice: readonly number[] } {
  const twice: number[] = [];
  let pieces: Uint8Array[] | null = null;
  let from = 0;
  let kept = 0;
  for (const [index, end] of ends.entries()) {
    const met = seen.meetLabel(labels[index] ?? null);
    if (met.length > 0) {
      twice.push(index);
      const place = { row: rows[index] ?? null, columns: null };
      const record = Buffer.from(records.buffer, records.byteOffset + from + 4, end - from - 4);
      const located = met.map((one) => locate(one, place));
      pieces ??= [];
      pieces.push(records.subarray(kept, from), withFaults(record, located));
      kept = end;
    }
    from = end;
  }
  return { records: pieces === null ? records : Buffer.concat([...pieces, records.subarray(kept)]), twice };
}

/**
 * @param activeMethod a published version
 * @throws Refusal for what is wrong with the body as a whole
 */
export async function spoolLines(
  db: Database,
  labId: number,
  book: GearBook,
  { body, lineBytes }: { readonly body: AsyncIterable<Uint8Array>; readonly lineBytes: number },
  spool: Spool,
  activeMethod: string,
): Promise<SpooledShots> {
  const seen = new SeenInSubmission();
  const preparer = new LinesPreparer(db, labId, { gear: book.versions, activeMethod });
  let rejected = 0;
  let shots = 0;
  let pieces = 0;
  for await (const { chunk, prepared } of preparedChunks(lineChunks(body, lineBytes), preparer)) {
    const { records, twice } = withSeen(prepared, chunk, seen);
    const again = new Set(twice);
    rejected += prepared.faulty.filter((faulty, index) => faulty || again.has(index)).length;
    shots += prepared.ends.length;
    await spool.appendRecords(records, prepared.ends.length);
    pieces += 1;
  }
  // Their memory is not needed while the rows are stored, which takes far longer than starting new ones.
  if (pieces > piecesOfLongUpload) await pool.endIdle();
  if (shots === 0) throw new Refusal('request-invalid', 'The body holds no shot.');
  return { rejected, columns: null };
}
