/** A shot as it is stored: as sent, with unit codes after aliasing and gear written name@version, without its track. */
import type { Shot } from '../../shared/shot.ts';
import { canonicalJson, sha256Hex } from '../pooling/canonical.ts';
import type { ResolvedGear } from './checks/check-gear-known.ts';

/** Sharing belongs to the shot, not to a revision, so it is no part of the content. */
export type StoredContent = Omit<Shot, 'cueTrack' | 'shared'>;

function reference(version: { readonly name: string; readonly version: number }): string {
  return `${version.name}@${version.version}`;
}

/** @param shot with unit codes after aliasing */
export function storedContent(shot: Shot, { rig, cue, table }: ResolvedGear): StoredContent {
  const { cueTrack: _track, shared: _shared, ...content } = shot;
  return {
    ...content,
    rig: rig === null ? content.rig : reference(rig),
    ...(cue === null ? {} : { cue: reference(cue) }),
    ...(table === null ? {} : { table: reference(table) }),
  };
}

/**
 * SHA-256 (hexadecimal) of the canonical JSON (RFC 8785) of the content with the hash of the track in its place: two
 * uploads with the same hash said the same, whatever aliases, order of fields or defaults they were written with.
 */
export function contentHash(content: StoredContent, track: string | null): string {
  return sha256Hex(canonicalJson(track === null ? content : { ...content, cueTrack: track }));
}
