/** Reads a body into a spool: every shot parsed, checked and derived, with no transaction open. */
import { setImmediate } from 'node:timers/promises';
import type { GearBook } from '../access/gear.ts';
import type { MethodsInUse } from '../derivation/methods.ts';
import type { Database } from '../store/database.ts';
import { leavesVersionOpen } from './gear-references.ts';
import { type ParsedSentShot, parseSentShot, prepareShot } from './prepare-shot.ts';
import type { PreparedShot } from './prepared-shot.ts';
import { locate } from './read/locate.ts';
import type { SentPlace, SentShot } from './read/sent-shot.ts';
import { SeenInSubmission } from './seen-in-submission.ts';
import type { Spool } from './spool.ts';
import { findStoredShots } from './store/find-stored-shots.ts';

/** Stored shots are looked up for so many shots, or so many track points, at once. */
const chunkShots = 50;
const chunkPoints = 100_000;
/** Other requests wait at most about this long for the event loop. */
const longestTurn = 10;

export interface SpooledShots {
  readonly rejected: number;
  readonly columns: SentPlace['columns'];
}

async function* chunksOf(shots: AsyncIterable<SentShot>): AsyncGenerator<ParsedSentShot[]> {
  let chunk: ParsedSentShot[] = [];
  let points = 0;
  for await (const sent of shots) {
    const parsed = parseSentShot(sent);
    chunk.push(parsed);
    points += parsed.parsed.shot?.cueTrack?.positions.length ?? 0;
    if (chunk.length >= chunkShots || points >= chunkPoints) {
      yield chunk;
      chunk = [];
      points = 0;
    }
  }
  if (chunk.length > 0) yield chunk;
}

function labelsWithOpenVersions(chunk: readonly ParsedSentShot[]): string[] {
  return chunk.flatMap(({ label, parsed: { shot } }) =>
    label !== null && shot !== null && leavesVersionOpen(shot) ? label : [],
  );
}

function withSeen(shot: PreparedShot, sent: ParsedSentShot, seen: SeenInSubmission): PreparedShot {
  const twice = seen.meetLabel(shot.label);
  if (twice.length === 0) return shot;
  return { ...shot, faults: [...twice.map((one) => locate(one, sent)), ...shot.faults] };
}

/** @throws Refusal for what is wrong with the body as a whole */
export async function spoolShots(
  db: Database,
  labId: number,
  book: GearBook,
  shots: AsyncIterable<SentShot>,
  spool: Spool,
  methods: MethodsInUse,
): Promise<SpooledShots> {
  const seen = new SeenInSubmission();
  let rejected = 0;
  let columns: SentPlace['columns'] = null;
  let turnStarted = performance.now();
  for await (const chunk of chunksOf(shots)) {
    const stored = await findStoredShots(db, labId, labelsWithOpenVersions(chunk));
    for (const sent of chunk) {
      const pinned = stored.get(sent.label ?? '')?.gear ?? null;
      const shot = withSeen(prepareShot(sent, book, pinned, methods), sent, seen);
      if (shot.faults.length > 0) rejected += 1;
      columns = sent.columns;
      await spool.append(shot);
      if (performance.now() - turnStarted > longestTurn) {
        await setImmediate();
        turnStarted = performance.now();
      }
    }
  }
  return { rejected, columns };
}
