/** One shot of a submission after all work that needs no transaction; what the spool holds. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import type { PinnedGear } from './gear-references.ts';
import type { StoredContent } from './stored-content.ts';
import type { EncodedTrack } from './track-bytes.ts';

export interface PreparedShot {
  /** Content hash of the stored revision that this shot corrects; not given by an upload, which corrects none. */
  readonly basedOn?: string | undefined;
  readonly position: number;
  readonly row: number | null;
  /** Only of a multipart body: where its tracks begin in their tables; null without such a track. */
  readonly trackRows?: { readonly cue: number | null; readonly ball: number | null } | undefined;
  /** As sent; null when it could not be read. */
  readonly label: string | null;
  readonly shared: boolean;
  /** Faults at their final place. With any, the shot cannot be stored. */
  readonly faults: readonly Fault[];
  /** Null when the shot has faults of structure, units or gear. */
  readonly ready: ReadyShot | null;
}

export interface ReadyShot {
  readonly content: StoredContent;
  /** Hexadecimal. */
  readonly contentHash: string;
  readonly track: EncodedTrack | null;
  readonly ballTrack: EncodedTrack | null;
  /** Of the cue track, hexadecimal; null without one. */
  readonly trackHash: string | null;
  readonly rigId: number;
  readonly cueId: number | null;
  readonly tableId: number | null;
  /** Gear of the stored shot that decided open versions; null when there was none. */
  readonly pinned: PinnedGear | null;
  /** Names of gear as sent, where the version was left open. */
  readonly open: PinnedGear | null;
  /** By the method active when it was prepared; null when the shot has faults. */
  readonly derived: DerivedShot | null;
  /** By the methods kept beside the active one. */
  readonly derivedBeside: readonly DerivedShot[];
}
