/**
 * A shot that names gear without a version was prepared for the stored shot that had its label then. When another
 * submission stored that label in the meantime, the version it kept counts, and the shot is prepared again.
 */
import type { Shot } from '../../../shared/shot.ts';
import type { GearBook } from '../../access/gear.ts';
import type { MethodsInUse } from '../../derivation/methods.ts';
import type { PinnedGear } from '../gear-references.ts';
import { prepareShot } from '../prepare-shot.ts';
import { tracksFrom } from '../read/locate.ts';
import type { SentPlace } from '../read/sent-shot.ts';
import { spooled } from '../spool-record.ts';
import type { SpooledReady, SpooledShot } from '../spooled-shot.ts';
import { type StoredContent, shotOfStored } from '../stored-content.ts';
import { decodeTrack, type EncodedTrack } from '../track-bytes.ts';
import type { StoredShot } from './find-stored-shots.ts';

function samePins(one: PinnedGear | null, other: PinnedGear | null): boolean {
  return one?.rig === other?.rig && one?.cue === other?.cue && one?.table === other?.table;
}

function asSent({ content: text, open, track, ballTrack }: SpooledReady, shared: boolean): Shot {
  // Written by this process.
  const content = JSON.parse(Buffer.from(text).toString()) as StoredContent;
  const decoded = (encoded: EncodedTrack | null) => (encoded === null ? null : decodeTrack(encoded));
  return {
    ...shotOfStored(content, { cue: decoded(track), ball: decoded(ballTrack) }, shared),
    rig: open?.rig ?? content.rig,
    ...(open === null || open.cue === null ? {} : { cue: open.cue }),
    ...(open === null || open.table === null ? {} : { table: open.table }),
  };
}

/** True when the shot was prepared for other gear than the stored shot of its label keeps. */
export function hasStalePins({ ready }: SpooledShot, stored: StoredShot | null): boolean {
  return ready !== null && ready.open !== null && !samePins(ready.pinned, stored?.gear ?? null);
}

/** The shot prepared again, for the gear of the stored shot of its label. */
export function prepareAgain(
  shot: SpooledShot,
  stored: StoredShot | null,
  book: GearBook,
  columns: SentPlace['columns'],
  methods: MethodsInUse,
): SpooledShot {
  const { ready, position, row, label, shared, trackRows } = shot;
  if (ready === null) return shot;
  const parsed = { shot: asSent(ready, shared), faults: [] };
  const tracks = trackRows && tracksFrom(trackRows);
  const sent = { position, row, columns, tracks, label, parsed };
  const again = spooled(prepareShot(sent, book, stored?.gear ?? null, methods));
  const ofSubmission = shot.faults.filter(({ code }) => code === 'label-duplicate');
  return { ...again, faults: [...ofSubmission, ...again.faults] };
}
