/** The text of a token: 256 random bits behind a prefix by which a leaked one is recognised. */
import { createHash, randomBytes } from 'node:crypto';

export const tokenPrefix = 'shotcommons_';

/** A new token of 256 random bits in base64url. */
export function newTokenText(): string {
  return `${tokenPrefix}${randomBytes(32).toString('base64url')}`;
}

/** What is stored of a token: its SHA-256. With 256 random bits nothing slower is needed. */
export function tokenHash(text: string): Uint8Array {
  return createHash('sha256').update(text).digest();
}
