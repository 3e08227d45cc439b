/**
 * Verifies a bundle offline, without a database or a network: the files against the manifest, every derivation
 * against what the labs sent, every recorded answer against the shots. Only the digest of the manifest has to be
 * compared by hand with the one that was published.
 */
import { z } from 'zod';
import { type Manifest, manifestSchema } from '../../shared/release.ts';
import { type Derive, publishedMethods } from '../derivation/methods.ts';
import { sha256Hex } from '../pooling/canonical.ts';
import { columnsOfFrozen } from './columns-of-frozen.ts';
import { formatVersion, manifestName } from './manifest.ts';
import { type NamedBytes, readStoredZip } from './stored-zip.ts';
import type { VerificationCheck, VerificationReport } from './verification-report.ts';
import { checkAnalyses, checkRule } from './verify-analyses.ts';
import { checkDerivations } from './verify-derivations.ts';
import { checkContainer, checkFiles, checkManifest } from './verify-files.ts';
import { messageOf, readBundleTables } from './verify-tables.ts';

const nothingKnown = { digest: null, dataset: null, number: null, methodVersion: null, shots: null };

function unreadable(obstacle: string): VerificationReport {
  return { outcome: 'unreadable', ...nothingKnown, obstacle, checks: [] };
}

type Opened =
  | { ok: true; files: NamedBytes[]; text: string; manifest: Manifest; derive: Derive }
  | { ok: false; report: VerificationReport };

/** Opens the ZIP and reads its manifest as far as this code knows its format and method. */
function open(bundle: Uint8Array): Opened {
  let files: NamedBytes[];
  try {
    files = readStoredZip(bundle);
  } catch (error) {
    return { ok: false, report: unreadable(`not a ZIP of stored files: ${messageOf(error)}`) };
  }
  const bytes = files.find(({ name }) => name === manifestName)?.bytes;
  if (bytes === undefined) return { ok: false, report: unreadable(`there is no ${manifestName} in it`) };
  const digest = sha256Hex(bytes);
  try {
    const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    const written: unknown = JSON.parse(text);
    const { format, methodVersion } = z.looseObject({ format: z.int(), methodVersion: z.string() }).parse(written);
    const unknown = (obstacle: string): Opened => ({
      ok: false,
      report: { outcome: 'unknown', ...nothingKnown, digest, methodVersion, obstacle, checks: [] },
    });
    if (format !== formatVersion) {
      return unknown(
        `the bundle has format ${format}; this code reads format ${formatVersion}: get a newer version of it`,
      );
    }
    const derive = publishedMethods.get(methodVersion);
    if (derive === undefined) {
      const known = [...publishedMethods.keys()].join(', ');
      return unknown(
        `the bundle needs method version ${methodVersion}; this code has ${known}: get a version that has it`,
      );
    }
    return { ok: true, files, text, manifest: manifestSchema.parse(written), derive };
  } catch (error) {
    return { ok: false, report: { ...unreadable(`${manifestName} cannot be read: ${messageOf(error)}`), digest } };
  }
}

/**
 * What the files say, recomputed: content hashes and tables, rule, derivations and recorded answers. It is also asked of
 * the files of a release before it is frozen.
 */
export function checkContents(
  files: readonly NamedBytes[],
  manifest: Manifest,
  derive: Derive,
): readonly VerificationCheck[] {
  const { tables, check: tablesCheck } = readBundleTables(files, manifest);
  const { shots, check: derivationsCheck } = checkDerivations(tables, derive);
  const columns = columnsOfFrozen(shots);
  return [tablesCheck, checkRule(columns, manifest), derivationsCheck, checkAnalyses(files, columns, manifest)];
}

/** @param bundle the bytes of bundle.zip; never throws for what they hold */
export function verifyBundle(bundle: Uint8Array): VerificationReport {
  const opened = open(bundle);
  if (!opened.ok) return opened.report;
  const { files, text, manifest, derive } = opened;
  const checks = [
    checkContainer(bundle, files),
    checkManifest(text, manifest),
    checkFiles(files, manifest),
    ...checkContents(files, manifest, derive),
  ];
  return {
    outcome: checks.every(({ passed }) => passed) ? 'verified' : 'differs',
    digest: sha256Hex(text),
    dataset: manifest.dataset,
    number: manifest.number,
    methodVersion: manifest.methodVersion,
    shots: manifest.shots,
    obstacle: null,
    checks,
  };
}
