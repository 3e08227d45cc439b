/** The manifest of a release: what it holds, and its digest. */
import { type Manifest, manifestSchema } from '../../shared/release.ts';
import { canonicalJson, sha256Hex } from '../pooling/canonical.ts';
import type { FrozenLab, FrozenShot, ReleaseIdentity } from './frozen-shot.ts';
import type { NamedBytes } from './stored-zip.ts';

export const manifestName = 'manifest.json';
export const formatVersion = 1;

export interface SealedManifest {
  readonly manifest: Manifest;
  /** Canonical JSON (RFC 8785), exactly the bytes of manifest.json. */
  readonly text: string;
  /** SHA-256 of the text. */
  readonly digest: string;
}

/** @param files every file of the bundle except the manifest, in bundle order */
export function sealManifest(
  identity: ReleaseIdentity,
  labs: readonly FrozenLab[],
  shots: readonly FrozenShot[],
  files: readonly NamedBytes[],
): SealedManifest {
  const { dataset, number, title, licence, methodVersion, rule } = identity;
  const manifest = manifestSchema.parse({
    format: formatVersion,
    dataset,
    number,
    title,
    licence,
    methodVersion,
    rule,
    shots: shots.length,
    labs: labs.map((lab) => ({ ...lab, shots: shots.filter((shot) => shot.lab === lab.lab).length })),
    files: files.map(({ name, bytes }) => ({ name, size: bytes.byteLength, sha256: sha256Hex(bytes) })),
  });
  const text = canonicalJson(manifest);
  return { manifest, text, digest: sha256Hex(text) };
}
