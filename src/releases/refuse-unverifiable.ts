/** No release is published that would fail its own verification: the files just made are recomputed before they are frozen. */
import { Refusal } from '../../shared/refusal.ts';
import type { Manifest } from '../../shared/release.ts';
import { publishedMethods } from '../derivation/methods.ts';
import type { NamedBytes } from './stored-zip.ts';
import { differenceText } from './verification-report.ts';
import { checkContents } from './verify-bundle.ts';

/** @throws Refusal release-invalid naming the first difference */
export function refuseUnverifiable(files: readonly NamedBytes[], manifest: Manifest): void {
  const derive = publishedMethods.get(manifest.methodVersion);
  if (derive === undefined) throw new Error(`the method ${manifest.methodVersion} is not known`);
  const failed = checkContents(files, manifest, derive).filter(({ passed }) => !passed);
  if (failed.length === 0) return;
  const count = failed.reduce((sum, { differences }) => sum + differences, 0);
  const [first] = failed.flatMap((check) => check.first);
  const which = first === undefined ? '' : `: ${differenceText(first)}`;
  throw new Refusal(
    'release-invalid',
    `it would fail its own verification in ${count} ${count === 1 ? 'place' : 'places'}${which}`,
  );
}
