/** One pass over the spool inside a transaction: decides every shot, writes the accepted ones, keeps the receipt. */
import { randomUUID } from 'node:crypto';
import { Refusal } from '../../../shared/refusal.ts';
import type { ReceiptShot, ShotState } from '../../../shared/submission.ts';
import { loadGearBook } from '../../access/gear.ts';
import type { MethodsInUse } from '../../derivation/methods.ts';
import type { Transaction } from '../../store/database.ts';
import { olderThanDatabase } from '../active-method.ts';
import type { SentPlace } from '../read/sent-shot.ts';
import type { Spool } from '../spool.ts';
import type { SpooledShot } from '../spooled-shot.ts';
import type { TrackKind } from '../track-bytes.ts';
import { ballTrackFingerprint } from '../track-fingerprint.ts';
import type { AcceptedShot, Arrival } from './accepted-shot.ts';
import { type Decision, decide } from './decide.ts';
import { findStoredShots, type StoredShot } from './find-stored-shots.ts';
import { findBallTrackOwners, findTrackOwners } from './find-track-owners.ts';
import { replaceHotRows } from './hot-rows.ts';
import { insertFirstDerivations } from './insert-derivations.ts';
import { insertReceiptShots, type ReceiptRow } from './insert-receipt-shots.ts';
import { insertRevisions, insertTracks, numberRevisions } from './insert-revisions.ts';
import { insertShots } from './insert-shots.ts';
import { recordFirstReceipts } from './record-first-receipts.ts';
import { hasStalePins, prepareAgain } from './settle-pins.ts';
import { shareById } from './share-by-id.ts';

const inlineRejected = 100;

export interface PassOptions {
  /** False on a dry run and for a refused submission: only the receipt is kept. */
  readonly write: boolean;
  /** Stop at the first rejected shot, because then nothing may be stored. */
  readonly allOrNothing: boolean;
  readonly revise: boolean;
  readonly columns: SentPlace['columns'];
  readonly nextOrdinal: number;
  /** Those that the spooled shots are derived under. */
  readonly methods: MethodsInUse;
  /** The one active in this transaction, which may have changed since; needed for writing. */
  readonly activeMethod?: string;
}

export interface PassResult {
  readonly counts: Readonly<Record<ShotState, number>>;
  readonly rejected: readonly ReceiptShot[];
  readonly nextOrdinal: number;
  /** Shots that became shared without other change. */
  readonly onlyShared: number;
  /** True when something that everybody sees has changed. */
  readonly sharedChanged: boolean;
}

/** Thrown out of a writing pass to roll it back. */
export class ShotRejected extends Error {}

/** A correction of a revision that is no longer the current one would undo what came after it. */
function refuseChanged({ basedOn, label }: SpooledShot, stored: StoredShot | null): void {
  if (basedOn === undefined || (stored !== null && !stored.withdrawn && stored.contentHash === basedOn)) return;
  throw new Refusal('shot-changed', `Shot ${label} was revised or withdrawn meanwhile; nothing was changed.`);
}

/**
 * @param tracks labels of the shots of this submission by cue track and by ball track; only of shots that are not
 *   rejected, so that nothing is refused because of a shot that is not stored
 */
async function decideBatch(
  tx: Transaction,
  labId: number,
  batch: readonly SpooledShot[],
  options: PassOptions,
  tracks: Readonly<Record<TrackKind, Map<string, string>>>,
): Promise<Decision[]> {
  const stored = await findStoredShots(
    tx,
    labId,
    batch.flatMap(({ label }) => label ?? []),
  );
  const storedAs = (shot: SpooledShot): StoredShot | null => stored.get(shot.label ?? '') ?? null;
  for (const shot of batch) refuseChanged(shot, storedAs(shot));
  const stale = batch.some((shot) => hasStalePins(shot, storedAs(shot)));
  const book = stale ? await loadGearBook(tx, labId) : null;
  const settled = batch.map((shot) => {
    const now = storedAs(shot);
    return book !== null && hasStalePins(shot, now)
      ? prepareAgain(shot, now, book, options.columns, options.methods)
      : shot;
  });
  const owners = await findTrackOwners(
    tx,
    labId,
    settled.flatMap(({ ready }) => ready?.trackHash ?? []),
  );
  const fingerprints = settled.map(({ ready }) => ballTrackFingerprint(ready?.ballTrack ?? null));
  const ballOwners = await findBallTrackOwners(
    tx,
    labId,
    fingerprints.filter((fingerprint) => fingerprint !== null),
  );
  return settled.map((shot, index) => {
    const cue = shot.ready?.trackHash ?? '';
    const ball = fingerprints[index] ?? '';
    const trackOwners = {
      cue: owners.get(cue) ?? tracks.cue.get(cue) ?? null,
      ball: ballOwners.get(ball) ?? tracks.ball.get(ball) ?? null,
    };
    const decision = decide(shot, storedAs(shot), trackOwners, options.revise, options.columns);
    if (decision.state !== 'rejected' && shot.label !== null) {
      if (cue !== '') tracks.cue.set(cue, shot.label);
      if (ball !== '') tracks.ball.set(ball, shot.label);
    }
    return decision;
  });
}

/** The shots that a decision creates or revises get their id, ordinal and revision number. */
function accept(decisions: readonly Decision[], nextOrdinal: number, activeMethod: string): AcceptedShot[] {
  let ordinal = nextOrdinal;
  const accepted: AcceptedShot[] = [];
  for (const { shot, state, stored } of decisions) {
    const { ready, label } = shot;
    if (
      (state !== 'created' && state !== 'revised') ||
      ready === null ||
      label === null ||
      ready.derivations.length === 0
    ) {
      continue;
    }
    const current = ready.derivations.find(({ methodVersion }) => methodVersion === activeMethod);
    if (current === undefined) throw olderThanDatabase(activeMethod);
    accepted.push({
      id: stored?.id ?? randomUUID(),
      label,
      ordinal: stored?.ordinal ?? ordinal++,
      isNew: stored === null,
      revision: (stored?.revision ?? 0) + 1,
      firstReceivedBefore: stored?.firstReceivedAt ?? null,
      shared: shot.shared || stored?.shared === true,
      newlyShared: shot.shared && stored?.shared !== true,
      ready,
      current,
    });
  }
  return accepted;
}

function receiptShot({ shot, state, stored, faults }: Decision, accepted: AcceptedShot | undefined): ReceiptRow {
  const isKept = accepted !== undefined || state === 'unchanged';
  return {
    position: shot.position,
    label: shot.label,
    state,
    shot: accepted?.id ?? (isKept ? (stored?.id ?? null) : null),
    revision: accepted?.revision ?? (isKept ? (stored?.revision ?? null) : null),
    derived: state === 'rejected' ? null : ((accepted?.current ?? shot.ready?.derivations[0])?.derived ?? null),
    faults: [...faults],
  };
}

async function writeShots(
  tx: Transaction,
  arrival: Arrival,
  accepted: readonly AcceptedShot[],
  received: ReadonlyMap<string, number>,
): Promise<void> {
  if (accepted.length === 0) return;
  const revisions = await numberRevisions(tx, arrival, accepted, received);
  await insertShots(tx, arrival, revisions);
  await insertRevisions(tx, arrival, revisions);
  await insertTracks(tx, revisions);
  await insertFirstDerivations(tx, revisions);
  await replaceHotRows(tx, arrival, revisions);
  const revised = accepted.filter(({ isNew, newlyShared }) => !isNew && newlyShared);
  await shareById(
    tx,
    revised.map(({ id }) => id),
    arrival.receivedAt,
  );
}

/** Reads the next batch while the database writes this one. */
async function* readAhead<T>(batches: AsyncGenerator<T>): AsyncGenerator<T> {
  let next = batches.next();
  try {
    for (;;) {
      const read = await next;
      if (read.done === true) return;
      next = batches.next();
      // Heard when it is awaited; until then a failure must not pass for one that nobody hears.
      next.catch(() => {});
      yield read.value;
    }
  } finally {
    await next.catch(() => {});
    await batches.return(undefined);
  }
}

const tracksSeen = () => ({ cue: new Map<string, string>(), ball: new Map<string, string>() });

/** @throws ShotRejected when options.allOrNothing and a shot is rejected */
export async function storeSpool(
  tx: Transaction,
  arrival: Arrival,
  spool: Spool,
  options: PassOptions,
): Promise<PassResult> {
  const counts: Record<ShotState, number> = { created: 0, unchanged: 0, revised: 0, rejected: 0 };
  const rejected: ReceiptShot[] = [];
  let { nextOrdinal } = options;
  let onlyShared = 0;
  let sharedChanged = false;
  // Labels, and the tracks of what is only looked at, are the memory that grows with a submission.
  const seen = tracksSeen();
  for await (const batch of readAhead(spool.batches())) {
    // What earlier batches stored, the database tells.
    const tracks = options.write ? tracksSeen() : seen;
    const decisions = await decideBatch(tx, arrival.labId, batch, options, tracks);
    const received = await recordFirstReceipts(
      tx,
      arrival,
      decisions.map(({ shot }) => shot),
    );
    if (options.allOrNothing && decisions.some(({ state }) => state === 'rejected')) throw new ShotRejected();
    const accepted = options.write ? accept(decisions, nextOrdinal, options.activeMethod ?? '') : [];
    nextOrdinal += accepted.filter(({ isNew }) => isNew).length;
    await writeShots(tx, arrival, accepted, received);
    if (options.write) {
      const toShare = decisions.filter(
        ({ state, shot, stored }) => state === 'unchanged' && shot.shared && !stored?.shared,
      );
      onlyShared += await shareById(
        tx,
        toShare.flatMap(({ stored }) => stored?.id ?? []),
        arrival.receivedAt,
      );
    }
    sharedChanged ||= onlyShared > 0 || accepted.some(({ shared }) => shared);
    const byLabel = new Map(accepted.map((shot) => [shot.label, shot]));
    const receipts = decisions.map((decision) => {
      // A rejected second shot of a label must not pass for the first one.
      const own = decision.state === 'rejected' ? undefined : byLabel.get(decision.shot.label ?? '');
      return receiptShot(decision, own);
    });
    await insertReceiptShots(tx, arrival.submissionId, receipts);
    for (const receipt of receipts) {
      counts[receipt.state] += 1;
      if (receipt.state === 'rejected' && rejected.length < inlineRejected)
        rejected.push({ ...receipt, derived: null });
    }
  }
  return { counts, rejected, nextOrdinal, onlyShared, sharedChanged };
}
