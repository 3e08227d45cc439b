/** Are the files of a bundle the ones its manifest lists, byte for byte? */
import type { Manifest } from '../../shared/release.ts';
import { canonicalJson, sha256Hex } from '../pooling/canonical.ts';
import { manifestName } from './manifest.ts';
import { fileOrder } from './release-files.ts';
import { type NamedBytes, storeZip } from './stored-zip.ts';
import { CheckRecorder, fileDifference, type VerificationCheck } from './verification-report.ts';

/** The ZIP itself: packing the files again must give the very same bytes. */
export function checkContainer(bundle: Uint8Array, files: readonly NamedBytes[]): VerificationCheck {
  const recorder = new CheckRecorder('container', 'bytes');
  recorder.count(bundle.byteLength);
  const again = storeZip(files);
  const length = Math.min(again.byteLength, bundle.byteLength);
  let place = 0;
  while (place < length && again[place] === bundle[place]) place += 1;
  if (place < Math.max(again.byteLength, bundle.byteLength)) {
    recorder.differ(
      fileDifference(
        'the ZIP itself',
        `the bytes that packing its files gives (${again.byteLength})`,
        `other bytes from byte ${place} on (${bundle.byteLength}): damaged, or packed by another program`,
      ),
    );
  }
  return recorder.finish();
}

/** The manifest: canonical JSON, and every file of the format listed once and in order. */
export function checkManifest(text: string, manifest: Manifest): VerificationCheck {
  const recorder = new CheckRecorder('manifest', 'files listed');
  recorder.count(manifest.files.length);
  if (canonicalJson(manifest) !== text) {
    recorder.differ(fileDifference(manifestName, 'canonical JSON (RFC 8785)', 'the same content written otherwise'));
  }
  const listed = manifest.files.map(({ name }) => name).join(' ');
  if (listed !== fileOrder.join(' ')) recorder.differ(fileDifference(manifestName, fileOrder.join(' '), listed));
  const inLabs = manifest.labs.reduce((sum, lab) => sum + lab.shots, 0);
  if (inLabs !== manifest.shots) {
    recorder.differ(fileDifference(manifestName, `${manifest.shots} shots`, `${inLabs} shots over its labs`));
  }
  return recorder.finish();
}

/** Every listed file is there with its size and SHA-256, and no other file is. */
export function checkFiles(files: readonly NamedBytes[], manifest: Manifest): VerificationCheck {
  const recorder = new CheckRecorder('files', 'files');
  const present = new Map(files.map(({ name, bytes }) => [name, bytes]));
  for (const { name, size, sha256 } of manifest.files) {
    recorder.count();
    const bytes = present.get(name);
    if (bytes === undefined) {
      recorder.differ(fileDifference(name, `a file of ${size} bytes`, 'no such file'));
      continue;
    }
    if (bytes.byteLength !== size) {
      recorder.differ(fileDifference(name, `${size} bytes`, `${bytes.byteLength} bytes`));
    }
    const digest = sha256Hex(bytes);
    if (digest !== sha256) recorder.differ(fileDifference(name, `SHA-256 ${sha256}`, `SHA-256 ${digest}`));
  }
  const listed = new Set(manifest.files.map(({ name }) => name));
  for (const { name } of files) {
    if (name !== manifestName && !listed.has(name)) {
      recorder.differ(fileDifference(name, 'no such file in the manifest', 'a file'));
    }
  }
  return recorder.finish();
}
