/** One digest for the derivations of the golden shots: the same on every machine and Node version. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { goldenShots } from './golden-shots.ts';

/** Belongs to method version 1. Once that is published, a change here is a new method version. */
export const expectedDigest = 'a94b15dc4c8f463ac0432ceb04015bc652cbac63f97f1b42a86c328156b720e6';

/** SHA-256 of the canonical JSON (RFC 8785) of every derivation, with the faults. */
export function goldenDigest(): string {
  const derivations = goldenShots().map(({ shot, gear }) => deriveShot(shot, gear));
  return createHash('sha256')
    .update(canonicalize(derivations) ?? '')
    .digest('hex');
}
