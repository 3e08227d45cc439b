/** One digest for the derivations of the golden shots: the same on every machine and Node version. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { goldenShots } from './golden-shots.ts';

/** Belongs to method version 1. Once that is published, a change here is a new method version. */
export const expectedDigest = '5180a7551ffb8a28ca3c317153a63edcf2889eb5bccb64937d2c367b67da3989';

/** SHA-256 of the canonical JSON (RFC 8785) of every derivation, with the faults. */
export function goldenDigest(): string {
  const derivations = goldenShots().map(({ shot, gear }) => deriveShot(shot, gear));
  return createHash('sha256')
    .update(canonicalize(derivations) ?? '')
    .digest('hex');
}
