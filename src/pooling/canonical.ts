/** Canonical JSON (RFC 8785) and the digests built on it. */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { canonicalComparison, canonicalRegression } from './canonical-specification.ts';
import { plainCanonicalJson } from './plain-canonical-json.ts';

/** Raised whenever the same question on the same data may be answered with other numbers or words than before. */
export const analysisVersion = '7';

/** RFC 8785 text of a JSON value. Throws on NaN, infinity, lone surrogates and on undefined as a whole. */
export function canonicalJson(value: unknown): string {
  const text = plainCanonicalJson(value) ?? canonicalize(value);
  if (text === undefined) throw new TypeError('undefined has no JSON form');
  return text;
}

/** SHA-256 in lower-case hexadecimal; text is taken as UTF-8. */
export function sha256Hex(content: string | Uint8Array): string {
  return createHash('sha256').update(content).digest('hex');
}

/** Digest of a question, the same whichever way the question was written. */
export function specificationDigest(specification: RegressionSpecification | ComparisonSpecification): string {
  const canonical =
    'terms' in specification
      ? { kind: 'regression', ...canonicalRegression(specification) }
      : { kind: 'comparison', ...canonicalComparison(specification) };
  return sha256Hex(canonicalJson(canonical));
}

/**
 * Id of an analysis: the same question on the same data by the same code has the same id on every server that holds
 * the same database.
 */
export function analysisId(question: {
  readonly specificationDigest: string;
  readonly scope: string;
  /** Data version of live shots, or the digest of the release. */
  readonly dataVersion: string;
}): string {
  const { specificationDigest: specification, scope, dataVersion } = question;
  return sha256Hex(canonicalJson({ specification, scope, dataVersion, analysisVersion }));
}
