/** The files of format 1, from what a release fixes. The order here is the order in the bundle. */

import { sha256Hex } from '../pooling/canonical.ts';
import { codebookRows, codebookTable } from './codebook.ts';
import { renderTable, type Table } from './csv-table.ts';
import { dataPackageText, type TableMeasure } from './data-package.ts';
import { derivedTable } from './derived-table.ts';
import type { DerivedFrozenShot, FrozenGear, FrozenLab, ReleaseIdentity } from './frozen-shot.ts';
import { gearFileName, renderGear } from './gear-file.ts';
import { licenceText, readmeText } from './release-documents.ts';
import { shotsTable } from './shots-table.ts';
import type { NamedBytes } from './stored-zip.ts';
import { trackPoints, tracksTable } from './tracks-table.ts';

/** Files made from rows that never change: they are made again whenever they are asked for. */
export const dataFileNames = [shotsTable.file, tracksTable.file, gearFileName, derivedTable.file] as const;
/** Texts, kept as frozen: a later wording must not change an older release. */
export const documentNames = [
  'README.txt',
  'LICENCE.txt',
  'datapackage.json',
  codebookTable.file,
  'methods.md',
  'analyses.json',
] as const;
export type DocumentName = (typeof documentNames)[number];

/** Every file except the manifest, in bundle order. */
export const fileOrder: readonly string[] = [
  'README.txt',
  'LICENCE.txt',
  'datapackage.json',
  codebookTable.file,
  'methods.md',
  ...dataFileNames,
  'analyses.json',
];

const mediaTypes: Readonly<Record<string, string>> = {
  json: 'application/json',
  csv: 'text/csv; charset=utf-8; header=present',
  md: 'text/markdown; charset=utf-8',
  txt: 'text/plain; charset=utf-8',
};

export function mediaTypeOf(name: string): string {
  return mediaTypes[name.slice(name.lastIndexOf('.') + 1)] ?? 'application/octet-stream';
}

/** shots.csv, tracks.csv, gear.json and derived.csv; shots in the order lab slug, ordinal. */
export function dataFiles(shots: readonly DerivedFrozenShot[], gear: readonly FrozenGear[]): NamedBytes[] {
  return [
    { name: shotsTable.file, bytes: renderTable(shotsTable, shots) },
    { name: tracksTable.file, bytes: renderTable(tracksTable, trackPoints(shots)) },
    { name: gearFileName, bytes: renderGear(gear) },
    { name: derivedTable.file, bytes: renderTable(derivedTable, shots) },
  ];
}

function measureTable(table: Pick<Table<never>, 'file'>, rows: number, files: readonly NamedBytes[]): TableMeasure {
  const bytes = files.find(({ name }) => name === table.file)?.bytes ?? new Uint8Array();
  return { file: table.file, size: bytes.byteLength, sha256: sha256Hex(bytes), rows };
}

/** The texts of a release as they stand on the day of freezing. */
export function documents(
  identity: ReleaseIdentity,
  labs: readonly FrozenLab[],
  shots: readonly DerivedFrozenShot[],
  data: readonly NamedBytes[],
  texts: { methods: string; analyses: string },
): Record<DocumentName, string> {
  const rows = codebookRows();
  const codebook = { name: codebookTable.file, bytes: renderTable(codebookTable, rows) };
  let points = 0;
  for (const { track, ballTrack } of shots)
    points += (track?.positions.length ?? 0) + (ballTrack?.positions.length ?? 0);
  const files = [...data, codebook];
  return {
    'README.txt': readmeText(identity, labs, shots.length),
    'LICENCE.txt': licenceText(identity, labs),
    'datapackage.json': dataPackageText(identity, labs, [
      measureTable(shotsTable, shots.length, files),
      measureTable(derivedTable, shots.length, files),
      measureTable(tracksTable, points, files),
      measureTable(codebookTable, rows.length, files),
    ]),
    'codebook.csv': new TextDecoder().decode(codebook.bytes),
    'methods.md': texts.methods,
    'analyses.json': texts.analyses,
  };
}

/** Data files and documents together, in bundle order. Throws when one is missing. */
export function inBundleOrder(data: readonly NamedBytes[], texts: Readonly<Record<string, string>>): NamedBytes[] {
  return fileOrder.map((name) => {
    const file = data.find((each) => each.name === name);
    if (file !== undefined) return file;
    const text = texts[name];
    if (text === undefined) throw new Error(`the release has no ${name}`);
    return { name, bytes: new TextEncoder().encode(text) };
  });
}
