/** What a release fixes: shots with their derivations, the gear they were made with, and the words around them. */
import type { Filter } from '../../shared/analysis.ts';
import type { DerivedShot } from '../../shared/derivation.ts';
import type { CueContent, GearKind, RigContent, TableContent } from '../../shared/gear.ts';
import type { Shot } from '../../shared/shot.ts';
import type { UsedGear } from '../derivation/gear.ts';
import { contentHash, type StoredContent, shotOfStored } from '../intake/stored-content.ts';
import { encodeTrack, trackHash } from '../intake/track-bytes.ts';
import type { TrackPoints } from '../intake/track-frames.ts';

/** A track as sent: one frame, one time or both for each position; gaps only of the cue. */
export interface FrozenTrack {
  readonly unit: string;
  readonly positions: readonly number[];
  readonly frames: readonly number[] | null;
  readonly times: { readonly unit: string; readonly values: readonly number[] } | null;
  readonly gaps: readonly (number | null)[] | null;
}

export interface FrozenShot {
  readonly lab: string;
  /** Place among the shots of its lab, in order of first acceptance. */
  readonly ordinal: number;
  /** Number of the revision that was frozen. */
  readonly revision: number;
  /** The shot as stored: as sent, its gear written name@version, without the points of its tracks. */
  readonly content: StoredContent;
  /** Curated terms that the lab's codes meant when the release was frozen; none when not given. */
  readonly terms?: { readonly strokeStyle: string | null; readonly grip: string | null };
  /** SHA-256 of content and tracks, as the lab got it when it sent the shot. */
  readonly contentHash: string;
  /** Of the cue. */
  readonly track: FrozenTrack | null;
  readonly ballTrack: FrozenTrack | null;
}

export interface DerivedFrozenShot extends FrozenShot {
  readonly derived: DerivedShot;
}

interface FrozenGearOf<Kind extends GearKind, Content> {
  readonly lab: string;
  readonly kind: Kind;
  readonly name: string;
  readonly version: number;
  readonly content: Content;
}
export type FrozenGear =
  | FrozenGearOf<'rigs', RigContent>
  | FrozenGearOf<'cues', CueContent>
  | FrozenGearOf<'tables', TableContent>;

export interface ReleaseIdentity {
  readonly dataset: string;
  readonly number: number;
  readonly title: string;
  readonly licence: string;
  readonly methodVersion: string;
  readonly rule: Filter;
}

export interface FrozenLab {
  readonly lab: string;
  readonly title: string;
  readonly dataLicence: string;
  readonly consentReference: string;
}

function pointsOf(track: FrozenTrack | null): TrackPoints | null {
  if (track === null) return null;
  const { unit, positions, frames, times, gaps } = track;
  return {
    unit,
    positions: [...positions],
    ...(frames === null ? {} : { frames: [...frames] }),
    ...(times === null ? {} : { times: { unit: times.unit, values: [...times.values] } }),
    ...(gaps === null ? {} : { gaps: [...gaps] }),
  };
}

/** The shot that the derivation takes: content and tracks put together again. */
export function shotOfFrozen(frozen: Pick<FrozenShot, 'content' | 'track' | 'ballTrack'>): Shot {
  return shotOfStored(frozen.content, { cue: pointsOf(frozen.track), ball: pointsOf(frozen.ballTrack) }, true);
}

/** Hash of a shot as its lab got it, computed again from content and tracks. */
export function hashOfFrozen(frozen: Pick<FrozenShot, 'content' | 'track' | 'ballTrack'>): string {
  const hashOf = (track: FrozenTrack | null) => {
    const points = pointsOf(track);
    return points === null ? null : trackHash(encodeTrack(points));
  };
  return contentHash(frozen.content, { cue: hashOf(frozen.track), ball: hashOf(frozen.ballTrack) });
}

/** A gear book answers which content a lab's `name@version` has. */
export type GearBook = ReadonlyMap<string, FrozenGear>;

export function gearBook(gear: readonly FrozenGear[]): GearBook {
  return new Map(gear.map((piece) => [gearKey(piece.lab, piece.kind, `${piece.name}@${piece.version}`), piece]));
}

function gearKey(lab: string, kind: GearKind, reference: string): string {
  return `${lab}/${kind}/${reference}`;
}

function lookUp<Kind extends GearKind>(book: GearBook, lab: string, kind: Kind, reference: string) {
  const piece = book.get(gearKey(lab, kind, reference));
  if (piece === undefined || piece.kind !== kind) throw new MissingGear(lab, kind, reference);
  return piece as Extract<FrozenGear, { kind: Kind }>;
}

/** A shot names gear that the release does not hold. */
export class MissingGear extends Error {
  constructor(lab: string, kind: GearKind, reference: string) {
    super(`${kind} ${reference} of lab ${lab} is not in the gear of the release`);
    this.name = 'MissingGear';
  }
}

/** The gear of one shot, as the derivation takes it. Throws MissingGear. */
export function usedGear(book: GearBook, frozen: FrozenShot): UsedGear {
  const { lab, content } = frozen;
  const rig = lookUp(book, lab, 'rigs', content.rig);
  const cue = content.cue === undefined ? null : lookUp(book, lab, 'cues', content.cue);
  const table = content.table === undefined ? null : lookUp(book, lab, 'tables', content.table);
  return {
    rig: { name: rig.name, version: rig.version, content: rig.content },
    cue: cue === null ? null : { name: cue.name, version: cue.version, content: cue.content },
    table: table === null ? null : { name: table.name, version: table.version, content: table.content },
  };
}
