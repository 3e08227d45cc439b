/**
 * A shot as it is stored: as sent, with unit codes after aliasing and gear written name@version, without the points of
 * its tracks. And back.
 */
import type { z } from 'zod';
import type { ballCameraSchema, Shot } from '../../shared/shot.ts';
import { canonicalJson, sha256Hex } from '../pooling/canonical.ts';
import type { ResolvedGear } from './checks/check-gear-known.ts';
import type { TrackPoints } from './track-frames.ts';

/** Sharing belongs to the shot, not to a revision, so it is no part of the content. */
export type StoredContent = Omit<Shot, 'cueTrack' | 'ballTrack' | 'shared'> & {
  readonly ballTrack?: z.output<typeof ballCameraSchema> | undefined;
};

/** Hexadecimal; null without a track of the kind. */
export interface TrackHashes {
  readonly cue: string | null;
  readonly ball: string | null;
}

function reference(version: { readonly name: string; readonly version: number }): string {
  return `${version.name}@${version.version}`;
}

/** What is stored of a shot as it stands, whatever its gear. */
export function contentOfShot(shot: Shot): StoredContent {
  const { cueTrack: _track, shared: _shared, ballTrack, ...content } = shot;
  if (ballTrack === undefined) return content;
  const {
    unit: _unit,
    positions: _positions,
    frames: _frames,
    firstFrame: _first,
    times: _times,
    ...camera
  } = ballTrack;
  return { ...content, ballTrack: camera };
}

/** @param shot with unit codes after aliasing */
export function storedContent(shot: Shot, { rig, cue, table }: ResolvedGear): StoredContent {
  const content = contentOfShot(shot);
  return {
    ...content,
    rig: rig === null ? content.rig : reference(rig),
    ...(cue === null ? {} : { cue: reference(cue) }),
    ...(table === null ? {} : { table: reference(table) }),
  };
}

/** The shot put together again from its content and the points of its tracks. */
export function shotOfStored(
  content: StoredContent,
  tracks: { readonly cue: TrackPoints | null; readonly ball: TrackPoints | null },
  shared: boolean,
): Shot {
  const { ballTrack: camera, ...rest } = content;
  return {
    ...rest,
    shared,
    ...(tracks.cue === null ? {} : { cueTrack: tracks.cue }),
    ...(tracks.ball === null || camera === undefined ? {} : { ballTrack: { ...camera, ...tracks.ball } }),
  };
}

/**
 * SHA-256 (hexadecimal) of the canonical JSON (RFC 8785) of the content, with the hash of the cue track in its place and
 * that of the ball track as `track` beside what is said about its camera: two uploads with the same hash said the same,
 * whatever aliases, order of fields or defaults they were written with.
 */
export function contentHash(content: StoredContent, { cue, ball }: TrackHashes): string {
  return sha256Hex(
    canonicalJson({
      ...content,
      ...(cue === null ? {} : { cueTrack: cue }),
      ...(ball === null ? {} : { ballTrack: { ...content.ballTrack, track: ball } }),
    }),
  );
}
