/** The contact frames of a shot as the lab counted them. */
import type { Contact } from '../../shared/shot.ts';

export interface CountedContact {
  /** Frames in which the gap looks closed, before trimming. */
  readonly frames: number;
  readonly trimmedStart: number;
  readonly trimmedEnd: number;
  /** Frames after the lab's own trimming. */
  readonly trimmed: number;
}

/** Null when neither both frame numbers nor a count were sent. Frame numbers go before the count. */
export function countContact(contact: Contact | undefined): CountedContact | null {
  if (contact === undefined) return null;
  const { closedFrame, openFrame, countedFrames, trimmedStart, trimmedEnd } = contact;
  const frames = closedFrame !== undefined && openFrame !== undefined ? openFrame - closedFrame : countedFrames;
  if (frames === undefined) return null;
  return { frames, trimmedStart, trimmedEnd, trimmed: Math.max(0, frames - trimmedStart - trimmedEnd) };
}
