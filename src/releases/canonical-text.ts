/** Canonical JSON (RFC 8785) and SHA-256, as the files of a release use them. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';

/** @throws when the value has no JSON form, such as a number that is not finite. */
export function canonicalText(value: unknown): string {
  const text = canonicalize(value);
  if (text === undefined) throw new TypeError('the value has no JSON form');
  return text;
}

export function canonicalBytes(value: unknown): Uint8Array {
  return new TextEncoder().encode(canonicalText(value));
}

/** SHA-256 as 64 lower-case hexadecimal digits. */
export function sha256Of(bytes: Uint8Array | string): string {
  return createHash('sha256').update(bytes).digest('hex');
}
