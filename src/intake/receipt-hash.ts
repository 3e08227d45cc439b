/** What makes a shot the same one to a margin, whatever it is called. */
import { canonicalJson, sha256Hex } from '../pooling/canonical.ts';
import type { ReadyShot } from './prepared-shot.ts';

/** SHA-256 (hexadecimal) of its track, or, without a track, of its content apart from label and note. */
export function receiptHash({ trackHash, content }: Pick<ReadyShot, 'trackHash' | 'content'>): string {
  if (trackHash !== null) return trackHash;
  const { label: _label, note: _note, ...measured } = content;
  return sha256Hex(canonicalJson(measured));
}
