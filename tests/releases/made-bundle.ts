/** A bundle made without a database, and ways to tamper with it. */
import { cueContentSchema, rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import type { Manifest } from '../../shared/release.ts';
import { releaseInputSchema } from '../../shared/release.ts';
import { shotInputSchema } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { methodOne } from '../../src/derivation/method-choices.ts';
import { contentOfShot } from '../../src/intake/stored-content.ts';
import { canonicalJson, sha256Hex } from '../../src/pooling/canonical.ts';
import { columnsOfFrozen } from '../../src/releases/columns-of-frozen.ts';
import {
  type DerivedFrozenShot,
  type FrozenGear,
  type FrozenLab,
  gearBook,
  hashOfFrozen,
  type ReleaseIdentity,
  shotOfFrozen,
  usedGear,
} from '../../src/releases/frozen-shot.ts';
import { manifestName, sealManifest } from '../../src/releases/manifest.ts';
import {
  answerComparison,
  answerRegression,
  freezeMargin,
  questionOfRelease,
} from '../../src/releases/recorded-analyses.ts';
import { dataFiles, documents, inBundleOrder } from '../../src/releases/release-files.ts';
import { type NamedBytes, readStoredZip, storeZip } from '../../src/releases/stored-zip.ts';
import { inventedShot } from './two-labs.ts';

const identity: ReleaseIdentity = {
  dataset: 'made',
  number: 1,
  title: 'Made for a test',
  licence: 'CC0-1.0',
  methodVersion: '1',
  rule: { ranges: [], groups: [], includeReported: false, includeFlags: [] },
};

const labs: FrozenLab[] = ['north', 'south'].map((lab) => ({
  lab,
  title: `Lab ${lab}`,
  dataLicence: 'CC0-1.0',
  consentReference: 'invented for a test',
}));

function gearOf(lab: string, rig: object): FrozenGear[] {
  return [
    { lab, kind: 'rigs', name: 'main', version: 1, content: rigContentSchema.parse({ ...rig, fit: { order: 2 } }) },
    { lab, kind: 'cues', name: 'house', version: 1, content: cueContentSchema.parse({ tipRadius: 'nickel' }) },
    { lab, kind: 'tables', name: 'club', version: 1, content: tableContentSchema.parse({ discipline: 'pool' }) },
  ];
}

const gear = [
  ...gearOf('north', { captureRate: { value: 4000, unit: 'Hz' }, scale: { value: 0.1, unit: 'mm/px' } }),
  ...gearOf('south', { captureRate: { value: 5000, unit: 'Hz' } }),
];

function frozenShot(lab: string, ordinal: number): DerivedFrozenShot {
  const shot = shotInputSchema.parse({
    ...inventedShot(lab, ordinal),
    rig: 'main@1',
    cue: 'house@1',
    table: 'club@1',
  });
  const { cueTrack, ballTrack } = shot;
  if (cueTrack === undefined) throw new Error('an invented shot has a track');
  const { firstFrame = 0, positions, unit, gaps = null } = cueTrack;
  const unsealed = {
    lab,
    ordinal,
    revision: 1,
    content: contentOfShot(shot),
    track: { unit, positions, frames: positions.map((_, index) => firstFrame + index), times: null, gaps },
    ballTrack:
      ballTrack === undefined
        ? null
        : {
            unit: ballTrack.unit,
            positions: ballTrack.positions,
            frames: null,
            times: ballTrack.times ?? null,
            gaps: null,
          },
  };
  const frozen = { ...unsealed, contentHash: hashOfFrozen(unsealed) };
  const { derived, faults } = deriveShot(shotOfFrozen(frozen), usedGear(gearBook(gear), frozen), methodOne);
  if (faults.length > 0) throw new Error(`the invented shot is refused: ${JSON.stringify(faults)}`);
  return { ...frozen, derived };
}

/** Ten shots of two labs, one regression and one comparison with a margin. */
export function madeBundle(): Uint8Array {
  const shots = ['north', 'south'].flatMap((lab) =>
    Array.from({ length: 10 }, (_, index) => frozenShot(lab, index + 1)),
  );
  const columns = columnsOfFrozen(shots);
  const margin = freezeMargin({ variable: 'outcomeDistance', value: 0.1, reason: 'smaller is never noticed' });
  const { analyses } = releaseInputSchema.parse({
    analyses: [
      { kind: 'regression', specification: { response: 'outcomeDistance', terms: [[{ variable: 'cueSpeed' }]] } },
      {
        kind: 'comparison',
        specification: {
          contrast: { kind: 'sign', variable: 'cueAcceleration' },
          response: 'outcomeDistance',
          match: [{ variable: 'cueSpeed', caliper: 0.1 }],
          margin: margin.id,
        },
      },
    ],
  });
  const answers = analyses.map((asked) => {
    const question = questionOfRelease(asked, identity);
    return question.kind === 'regression'
      ? { shareReceivedAfter: null, result: answerRegression(columns, question.specification, identity) }
      : { shareReceivedAfter: 0.5, result: answerComparison(columns, question.specification, identity, margin, 0.5) };
  });
  const data = dataFiles(shots, gear);
  const texts = documents(identity, labs, shots, data, {
    methods: '# Methods\n',
    analyses: canonicalJson({ margins: [margin], analyses: answers }),
  });
  const files = inBundleOrder(data, texts);
  const { text } = sealManifest(identity, labs, shots, files);
  return storeZip([{ name: manifestName, bytes: new TextEncoder().encode(text) }, ...files]);
}

export type Change = (text: string) => string;

/**
 * The bundle with some files changed, added or (null) taken out.
 * @param reseal whether the manifest is made anew, as a forger would who also replaces the published digest
 */
export function tampered(
  bundle: Uint8Array,
  changes: Readonly<Record<string, Change | null>>,
  reseal: boolean,
  changeManifest: (manifest: Manifest) => object = (manifest) => manifest,
): Uint8Array {
  const decode = (bytes: Uint8Array) => new TextDecoder().decode(bytes);
  const encode = (text: string) => new TextEncoder().encode(text);
  const [sealed, ...rest] = readStoredZip(bundle);
  const files: NamedBytes[] = rest.flatMap(({ name, bytes }) => {
    const change = changes[name];
    if (change === null) return [];
    return [{ name, bytes: change === undefined ? bytes : encode(change(decode(bytes))) }];
  });
  for (const [name, change] of Object.entries(changes)) {
    if (change !== null && !rest.some((file) => file.name === name)) files.push({ name, bytes: encode(change('')) });
  }
  const manifest = JSON.parse(decode(sealed?.bytes ?? new Uint8Array())) as Manifest;
  const listed = reseal
    ? files.map(({ name, bytes }) => ({ name, size: bytes.byteLength, sha256: sha256Hex(bytes) }))
    : manifest.files;
  const text = canonicalJson(changeManifest({ ...manifest, files: listed }));
  return storeZip([{ name: manifestName, bytes: encode(text) }, ...files]);
}
