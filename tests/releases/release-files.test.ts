import { expect, test } from 'vitest';
import { sha256Hex } from '../../src/pooling/canonical.ts';
import { codebookRows, codebookTable } from '../../src/releases/codebook.ts';
import { cellText, readTable, renderTable } from '../../src/releases/csv-table.ts';
import { derivedTable } from '../../src/releases/derived-table.ts';
import { readGear, renderGear } from '../../src/releases/gear-file.ts';
import { dataFiles } from '../../src/releases/release-files.ts';
import { shotsTable } from '../../src/releases/shots-table.ts';
import { trackPoints, tracksOfRows, tracksTable } from '../../src/releases/tracks-table.ts';
import { inventedGear, inventedShots } from './invented-release.ts';

const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes);

test('format 1 of the data files does not change: another SHA-256 here means a format 2 beside it', () => {
  const digests = Object.fromEntries(
    dataFiles(inventedShots, inventedGear).map(({ name, bytes }) => [name, sha256Hex(bytes)]),
  );
  expect(digests).toEqual({
    'derived.csv': '682c664ec0e9aa1134274c67e1a20fef9cd595fcae29ef442fa0d68583b09507',
    'gear.json': '48a1276f59acd61f9f6c0ba04d1777e84e6798acee31db0b22d0c782a4caf2b7',
    'shots.csv': '294480cedd11547acaf60868f9b777f9a7f036851ea88517344b55bdbec6f653',
    'tracks.csv': '45142f114f7e2b11b959ef1902fa8cd2702f9d8e7ae520e0d2a7ec2e378139dd',
  });
});

test('tables are UTF-8 with LF line ends, RFC 4180 quoting and one header line', () => {
  const csv = text(renderTable(shotsTable, inventedShots));
  expect(csv).not.toContain('\r');
  expect(csv).toContain('"A ""quoted"", odd label"');
  expect(csv.startsWith('lab,ordinal,label,revision,rig,')).toBe(true);
  expect(csv.endsWith('\n')).toBe(true);
});

test('a table reads back to the texts that were written', () => {
  const { header, rows } = readTable(renderTable(shotsTable, inventedShots));
  expect(header).toHaveLength(shotsTable.columns.length);
  expect(rows).toHaveLength(2);
  expect(rows[1]?.[header.indexOf('note')]).toBe('line one\nline two, with a comma');
  expect(rows[0]?.[header.indexOf('outcomeDistance')]).toBe('-12.5');
  expect(rows[0]?.[header.indexOf('outcomeDistanceUnit')]).toBe('in');
});

test('a number is written with the digits that read back to the same double', () => {
  for (const value of [0.1 + 0.2, 1e21, 5e-324, Number.MAX_VALUE, -1 / 3]) {
    expect(Number(cellText(value))).toBe(value);
  }
  expect(() => cellText(Number.NaN)).toThrow(RangeError);
});

test('tracks read back to the very positions, frames and times that were sent', () => {
  const { rows } = readTable(renderTable(tracksTable, trackPoints(inventedShots)));
  const tracks = tracksOfRows(rows);
  expect(tracks.get('north/1')).toEqual(inventedShots[0]?.track);
  expect(tracks.get('south/7')).toEqual(inventedShots[1]?.track);
});

test.each([
  ['a point taken out', (rows: string[][]) => rows.splice(1, 1)],
  ['a frame taken out', (rows: string[][]) => (rows[1] as string[]).splice(4, 1, '')],
  ['a unit changed half-way', (rows: string[][]) => (rows[1] as string[]).splice(8, 1, 'mm')],
])('a track with %s is refused', (_, change) => {
  const { rows } = readTable(renderTable(tracksTable, trackPoints(inventedShots)));
  change(rows);
  expect(() => tracksOfRows(rows)).toThrow();
});

test('gear is sorted by lab, kind, name and version and reads back whole', () => {
  const read = readGear(renderGear(inventedGear));
  expect(read.map(({ lab, kind }) => `${lab}/${kind}`)).toEqual(['north/rigs', 'south/rigs', 'south/tables']);
  expect(renderGear(read)).toEqual(renderGear(inventedGear));
});

test('the codebook explains every column of every table', () => {
  const rows = codebookRows();
  const named = new Set(rows.filter(({ kind }) => kind === 'column').map(({ file, name }) => `${file}/${name}`));
  for (const table of [shotsTable, derivedTable, tracksTable, codebookTable]) {
    for (const { name } of table.columns) expect(named).toContain(`${table.file}/${name}`);
  }
  expect(rows.filter(({ meaning }) => meaning === '')).toEqual([]);
  expect(rows.find(({ name }) => name === 'cueSpeed')).toMatchObject({ unit: 'm/s', least: 0.02, greatest: 20 });
});

test('column names of a table are unique', () => {
  for (const table of [shotsTable, derivedTable, tracksTable, codebookTable]) {
    const names = table.columns.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
  }
});
