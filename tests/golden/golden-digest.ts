/** One digest for the derivations of the golden shots: the same on every machine and Node version. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { goldenShots } from './golden-shots.ts';

/** Belongs to method version 1. Once that is published, a change here is a new method version. */
export const expectedDigest = 'c9b0c203804e0231c50fe9d2dd132195a1e8a9a959fc6ca4d2d958c6b7f8bec2';

/** SHA-256 of the canonical JSON (RFC 8785) of every derivation, with the faults. */
export function goldenDigest(): string {
  const derivations = goldenShots().map(({ shot, gear }) => deriveShot(shot, gear));
  return createHash('sha256')
    .update(canonicalize(derivations) ?? '')
    .digest('hex');
}
