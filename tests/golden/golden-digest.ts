/** One digest for the derivations of the golden shots under each version: the same on every machine and Node version. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { type MethodChoices, methodOne, methodTwo } from '../../src/derivation/method-choices.ts';
import { goldenShots } from './golden-shots.ts';

/**
 * Published versions and their digests. Once a version has gone out, so that somebody may have frozen a release under it,
 * a change of its digest is a new method version.
 */
export const goldenVersions: readonly { readonly choices: MethodChoices; readonly expected: string }[] = [
  { choices: methodOne, expected: '605592c20af8f8bdf4860d62e54ea14b63fc15c028d3d4e3277a877344ef4422' },
  { choices: methodTwo, expected: 'e3a2f92f468bd644fffa92fb264b674d270967fe3bb2f9d02dabeecfa6531365' },
];

/** SHA-256 of the canonical JSON (RFC 8785) of every derivation, with the faults. */
export function goldenDigest(choices: MethodChoices): string {
  const derivations = goldenShots().map(({ shot, gear }) => deriveShot(shot, gear, choices));
  return createHash('sha256')
    .update(canonicalize(derivations) ?? '')
    .digest('hex');
}
