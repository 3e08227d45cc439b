/** Curated stroke styles and grips: labs map their codes, columns and releases then compare across labs. */
import { beforeAll, expect, it } from 'vitest';
import type { Principal } from '../../src/access/principal.ts';
import { addTerm, listMappings, listTerms, mapCode } from '../../src/access/vocabularies.ts';
import { loadLiveColumns } from '../../src/pooling/load-columns.ts';
import { loadReleaseColumns } from '../../src/pooling/load-release-columns.ts';
import { bundleBytes } from '../../src/releases/bundle.ts';
import { createDataset } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import { verifyBundle } from '../../src/releases/verify-bundle.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from '../intake/invented.ts';

const long = { kind: 'strokeStyle', code: 'long', meaning: 'Follows through by more than a ball diameter.' } as const;

onEachDatabase((open) => {
  let db: Database;
  let curator: Principal;
  let north: TestLab;
  let south: TestLab;
  beforeAll(async () => {
    db = open().db;
    curator = await makeCurator(db);
    north = await makeLab(db, curator, 'north');
    south = await makeLab(db, curator, 'south');
    for (const { slug, lead } of [north, south]) await registerGear(db, lead, slug);
    await send(db, north, [goodShot('n-1', { strokeStyle: 'L', grip: 'loose', shared: true })]);
    await send(db, south, [goodShot('s-1', { strokeStyle: 'lang', grip: 'loose', shared: true })]);
  });

  const styles = async () => (await loadLiveColumns(db, 'shared')).groups.strokeStyle.names;

  it('terms are added by the curator alone, and never changed', async () => {
    expect(await addTerm(db, curator, long)).toEqual(long);
    await expect(addTerm(db, curator, { ...long, meaning: 'Something else.' })).rejects.toMatchObject({
      code: 'name-taken',
    });
    await expect(addTerm(db, north.lead, { ...long, code: 'short' })).rejects.toMatchObject({ code: 'forbidden' });
    expect(await listTerms(db)).toEqual([long]);
  });
  it('a code that is not mapped stays with its lab', async () => {
    expect(await styles()).toEqual(['north/L', 'south/lang']);
  });
  it('mapped codes are one group across labs, also of shots that come later or are mapped again', async () => {
    await mapCode(db, north.lead, 'north', { kind: 'strokeStyle', code: 'L', term: 'long' });
    expect(await styles()).toEqual(['long', 'south/lang']);
    await mapCode(db, south.lead, 'south', { kind: 'strokeStyle', code: 'lang', term: 'long' });
    expect(await styles()).toEqual(['long']);
    await send(db, south, [
      goodShot('s-2', { strokeStyle: 'lang', shared: true }),
      goodShot('s-3', { strokeStyle: 'kurz', shared: true }),
    ]);
    expect(await styles()).toEqual(['long', 'south/kurz']);
    expect((await loadLiveColumns(db, 'shared')).groups.grip.names).toEqual(['north/loose', 'south/loose']);
    expect(await listMappings(db, north.lead, 'south')).toEqual([{ kind: 'strokeStyle', code: 'lang', term: 'long' }]);
  });
  it('a lab maps its own codes only, onto terms that exist', async () => {
    const mapping = { kind: 'strokeStyle', code: 'kurz', term: 'short' } as const;
    await expect(mapCode(db, south.lead, 'south', mapping)).rejects.toMatchObject({ code: 'not-found' });
    await expect(mapCode(db, north.lead, 'south', { ...mapping, term: 'long' })).rejects.toMatchObject({
      code: 'forbidden',
    });
    await expect(mapCode(db, south.contributor, 'south', { ...mapping, term: 'long' })).rejects.toMatchObject({
      code: 'forbidden',
    });
  });
  it('a release keeps the terms it was frozen with, and verifies', async () => {
    await createDataset(db, curator, {
      slug: 'long-strokes',
      title: 'Long strokes',
      licence: 'CC0-1.0',
      filter: {
        ranges: [],
        groups: [{ grouping: 'strokeStyle', values: ['long'] }],
        includeReported: false,
        includeFlags: [],
      },
    });
    const { shots } = await freezeRelease(db, curator, 'long-strokes', { analyses: [] });
    expect(shots).toBe(3);
    await mapCode(db, south.lead, 'south', { kind: 'strokeStyle', code: 'lang', term: null });
    expect(await styles()).toEqual(['long', 'south/kurz', 'south/lang']);
    const { columns } = await loadReleaseColumns(db, 'long-strokes@1');
    expect(columns.groups.strokeStyle.names).toEqual(['long']);
    const report = verifyBundle(await bundleBytes(db, curator, 'long-strokes@1'));
    expect(report.outcome, JSON.stringify(report.checks)).toBe('verified');
  });
});
