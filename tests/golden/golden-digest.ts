/** One digest for the derivations of the golden shots: the same on every machine and Node version. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { goldenShots } from './golden-shots.ts';

/** Belongs to method version 1. Once that is published, a change here is a new method version. */
export const expectedDigest = '4c6b4355708f16b79afed53bb36cc102ed66cfa503e1eb24aef2901ed782ba3b';

/** SHA-256 of the canonical JSON (RFC 8785) of every derivation, with the faults. */
export function goldenDigest(): string {
  const derivations = goldenShots().map(({ shot, gear }) => deriveShot(shot, gear));
  return createHash('sha256')
    .update(canonicalize(derivations) ?? '')
    .digest('hex');
}
