/** Shots that adopt other gear, and shots amended: the effect first, then one revision each, with its reason. */
import { eq } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import type { AdoptionInput } from '../../shared/correction.ts';
import { Refusal } from '../../shared/refusal.ts';
import { verifyAudit } from '../../src/access/audit.ts';
import { addGearVersion } from '../../src/access/gear.ts';
import { adoptGear } from '../../src/intake/correct/adopt-gear.ts';
import { amendShot } from '../../src/intake/correct/amend-shot.ts';
import { mergePatch } from '../../src/intake/correct/merge-patch.ts';
import { getShot, getTrack, listRevisions, listShots } from '../../src/intake/shots.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import type { Database } from '../../src/store/database.ts';
import { auditEvent, hotShot, lab } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { gearContent, goodShot, positions, registerGear, send, temporaryLimits } from './invented.ts';

const refusalOf = (work: Promise<unknown>): Promise<unknown> =>
  work.then(
    () => null,
    (error: unknown) => (error instanceof Refusal ? error.code : error),
  );

it('a merge patch changes, adds and takes away, at any depth (RFC 7396, appendix A)', () => {
  expect(mergePatch({ a: 'b', c: { d: 1, e: 2 } }, { a: 'z', c: { e: null, f: 3 }, g: [1] })).toEqual({
    a: 'z',
    c: { d: 1, f: 3 },
    g: [1],
  });
  expect(mergePatch({ a: [{ b: 'c' }] }, { a: [1] })).toEqual({ a: [1] });
  expect(mergePatch({ e: null }, { a: 1 })).toEqual({ e: null, a: 1 });
  expect(mergePatch({}, { a: { bb: { ccc: null } } })).toEqual({ a: { bb: {} } });
});

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  const { spoolDirectory } = temporaryLimits();
  const pixelShot = (label: string, sessionDate: string) => {
    const good = goodShot(label);
    const track = good.cueTrack;
    if (track === undefined) throw new Error('the shot has no track');
    // 0.2 mm a pixel.
    const inPixels = { ...track, unit: 'px', positions: track.positions.map((value) => value * 5) };
    return { ...good, sessionDate, rig: 'pixels', cueTrack: inPixels };
  };
  const ids = new Map<string, string>();
  const idOf = (label: string) => ids.get(label) ?? '';
  beforeAll(async () => {
    db = open().db;
    north = await makeLab(db, await makeCurator(db), 'north');
    await registerGear(db, north.lead, 'north');
    await send(db, north, [
      pixelShot('p-1', '2026-03-01'),
      { ...pixelShot('p-2', '2026-03-02'), shared: true },
      pixelShot('p-3', '2026-03-02'),
      goodShot('m-1'),
      pixelShot('gone', '2026-03-02'),
    ]);
    for (const { id, label } of (await listShots(db, north.lead, { limit: 100 })).shots) ids.set(label, id);
    await withdrawShot(db, north.lead, idOf('gone'), 'filmed twice');
    // Version 2: the scale was 10 % off.
    await addGearVersion(db, north.lead, 'north', 'rigs', 'pixels', {
      ...gearContent.rigs.pixels,
      scale: { value: 0.22, unit: 'mm/px' },
    });
  });

  const adopt = (change: Partial<AdoptionInput>, options: { dryRun?: boolean; accept?: 'all' | 'valid' } = {}) =>
    adoptGear(
      db,
      north.contributor,
      { lab: 'north', kind: 'rigs', name: 'pixels' },
      { from: 1, to: 2, reason: 'the scale was read off the wrong ruler', ...change },
      { dryRun: false, accept: 'all', ...options },
      spoolDirectory,
    );
  const versionOf = async () => (await db.select().from(lab).where(eq(lab.id, north.id)))[0];
  const rigOf = async (label: string) => (await getShot(db, north.lead, idOf(label))).rig;

  it('shows first how the derived values move, and changes nothing', async () => {
    const before = await versionOf();
    const { effect, receipt } = await adopt({}, { dryRun: true });
    expect(receipt).toMatchObject({ dryRun: true, stored: false, counts: { revised: 3, rejected: 0, created: 0 } });
    const speeds = await Promise.all(['p-1', 'p-2', 'p-3'].map((label) => getShot(db, north.lead, idOf(label))));
    const mean = speeds.reduce((sum, { derived }) => sum + 0.1 * (derived.cueSpeed?.value ?? 0), 0) / 3;
    expect(effect).toMatchObject({ shots: 3, refused: 0, values: { cueSpeed: { shots: 3, lost: 0, gained: 0 } } });
    expect(effect.values.cueSpeed.meanChange).toBeCloseTo(mean, 10);
    expect(effect.values.cueSpeed.largestChange ?? 0).toBeGreaterThanOrEqual(mean);
    expect(['p-1', 'p-2', 'p-3']).toContain(effect.values.cueSpeed.largestChangeOf);
    expect(effect.values.contactTime).toMatchObject({ shots: 3, meanChange: 0 });
    expect(await versionOf()).toEqual(before);
    expect(await rigOf('p-1')).toBe('pixels@1');
  });
  it('then makes one revision per shot of the sessions named, with the reason in history and audit chain', async () => {
    const before = await versionOf();
    const earlier = await getShot(db, north.lead, idOf('p-2'));
    const { receipt } = await adopt({ sessions: ['2026-03-02'] });
    expect(receipt).toMatchObject({ stored: true, counts: { revised: 2, unchanged: 0, rejected: 0 } });
    expect(await Promise.all(['p-1', 'p-2', 'p-3', 'm-1'].map(rigOf))).toEqual([
      'pixels@1',
      'pixels@2',
      'pixels@2',
      'main@1',
    ]);
    const now = await getShot(db, north.lead, idOf('p-2'));
    expect(now).toMatchObject({ revision: 2, shared: true });
    expect((now.derived.cueSpeed?.value ?? 0) / (earlier.derived.cueSpeed?.value ?? 1)).toBeCloseTo(1.1, 10);
    const [hot] = await db.select().from(hotShot).where(eq(hotShot.label, 'p-2'));
    expect(hot?.cueSpeed).toBe(now.derived.cueSpeed?.value);
    const history = await listRevisions(db, north.lead, idOf('p-2'));
    expect(history.map(({ number, purpose, reason, rig }) => [number, purpose, reason, rig])).toEqual([
      [2, 'adoption', 'the scale was read off the wrong ruler', 'pixels@2'],
      [1, 'upload', null, 'pixels@1'],
    ]);
    expect((await getTrack(db, north.lead, idOf('p-2'))).positions).toHaveLength(190);
    const after = await versionOf();
    expect([after?.version, after?.sharedVersion]).toEqual([
      (before?.version ?? 0) + 1,
      (before?.sharedVersion ?? 0) + 1,
    ]);
    const events = await db.select().from(auditEvent).where(eq(auditEvent.kind, 'gear-adopted'));
    expect(events.map(({ detail }) => detail)).toMatchObject([
      { rig: 'pixels', from: 1, to: 2, revised: 2, reason: 'the scale was read off the wrong ruler' },
    ]);
    expect((await verifyAudit(db, north.id)).ok).toBe(true);
  });
  it('says which shots the checks would refuse; then nothing is stored, or the others with accept=valid', async () => {
    const { scale: _scale, ...withoutScale } = gearContent.rigs.pixels;
    await addGearVersion(db, north.lead, 'north', 'rigs', 'pixels', withoutScale);
    const { effect, receipt } = await adopt({ from: 2, to: 3 });
    expect(effect).toMatchObject({ shots: 2, refused: 2 });
    expect(receipt).toMatchObject({ stored: false, counts: { rejected: 2 } });
    expect(receipt.rejected[0]?.faults).toMatchObject([{ code: 'scale-missing', pointer: '/cueTrack/unit' }]);
    expect(await rigOf('p-2')).toBe('pixels@2');
    const some = await adopt({ from: 2, to: 3 }, { accept: 'valid' });
    expect(some.receipt.counts).toMatchObject({ revised: 0, rejected: 2 });
  });
  it('cues and tables are adopted the same way, each by the shots that name them', async () => {
    const { tipRadius: _tip, ...cue } = gearContent.cues.house;
    await addGearVersion(db, north.lead, 'north', 'cues', 'house', { ...cue, tipRadius: 'dime' });
    const wider = { ...gearContent.tables.club, ballDiameter: { value: 58, unit: 'mm' } };
    await addGearVersion(db, north.lead, 'north', 'tables', 'club', wider);
    await send(db, north, [{ ...goodShot('own'), cue: 'house@2', table: 'club@2' }]);
    for (const [kind, name, moved] of [
      ['cues', 'house', 4],
      ['tables', 'club', 4],
    ] as const) {
      const gear = { lab: 'north', kind, name };
      const input = { from: 1, to: 2, reason: 'measured again' };
      const options = { dryRun: true, accept: 'all' } as const;
      const { effect, receipt } = await adoptGear(db, north.contributor, gear, input, options, spoolDirectory);
      expect(receipt.counts, kind).toMatchObject({ revised: moved, rejected: 0 });
      // Heights of a contact mark depend on the ball and not on the tip.
      expect(effect.values.tipOffset.largestChange !== 0, kind).toBe(kind === 'tables');
      expect(effect.values.cueSpeed.largestChange, kind).toBe(0);
    }
  });
  it('refuses versions that do not exist, the same version twice, no shot at all, and other labs', async () => {
    expect(await refusalOf(adopt({ to: 9 }))).toBe('not-found');
    expect(await refusalOf(adopt({ to: 1 }))).toBe('request-invalid');
    expect(await refusalOf(adopt({ sessions: ['2020-01-01'] }))).toBe('request-invalid');
    const south = await makeLab(db, await secondCurator(), 'south');
    const gear = { lab: 'north', kind: 'rigs', name: 'pixels' } as const;
    const input = { from: 1, to: 2, reason: 'none of theirs' };
    const options = { dryRun: true, accept: 'all' } as const;
    expect(await refusalOf(adoptGear(db, south.lead, gear, input, options, spoolDirectory))).toBe('forbidden');
  });
  // The first curator exists already; a principal of that role is all that is needed.
  const secondCurator = async () => ({ role: 'curator', lab: null, tokenId: null }) as const;

  it('an amendment changes the fields named, keeps track and sharing, and needs the current revision', async () => {
    const id = idOf('m-1');
    const amend = (revision: number, changes: Record<string, unknown>, dryRun = false) =>
      amendShot(
        db,
        north.contributor,
        id,
        { revision, changes, reason: 'height read again' },
        { dryRun },
        spoolDirectory,
      );
    const before = await getShot(db, north.lead, id);
    const height = { tipHeight: { height: { value: -12 } }, objectBallDistance: null };
    const preview = await amend(1, height, true);
    expect(preview.receipt).toMatchObject({ stored: false, counts: { revised: 1 } });
    expect(preview.effect.values.tipOffset.largestChange).toBeLessThan(0);
    const done = await amend(1, height);
    expect(done.receipt).toMatchObject({ stored: true, counts: { revised: 1 } });
    const after = await getShot(db, north.lead, id);
    expect(after).toMatchObject({ revision: 2, derived: { objectBallDistance: null } });
    expect(after.derived.cueSpeed).toEqual(before.derived.cueSpeed);
    expect(after.derived.tipOffset?.value).toBeLessThan(before.derived.tipOffset?.value ?? 0);
    expect((await listRevisions(db, north.lead, id))[0]).toMatchObject({
      purpose: 'amendment',
      reason: 'height read again',
    });
    expect(await refusalOf(amend(1, { player: 'P2' }))).toBe('shot-changed');
    expect(await refusalOf(amend(2, { label: 'other' }))).toBe('request-invalid');
    const wrong = await amend(2, { objectBallDistance: { value: 1, unit: 'kg' } });
    expect(wrong.receipt).toMatchObject({ stored: false, counts: { rejected: 1 } });
  });
  it('an upload that revises can say why', async () => {
    const change = { cueTrack: { unit: 'mm', positions: positions(99), firstFrame: 10 } };
    await send(db, north, [goodShot('m-1', change)], { revise: true, reason: 'tracked again' });
    const [newest] = await listRevisions(db, north.lead, idOf('m-1'));
    expect(newest).toMatchObject({ number: 3, purpose: 'upload', reason: 'tracked again' });
  });
  it('a shot revised while a correction is under way is not overwritten: nothing is changed', async () => {
    let interfered = false;
    // The correction reads its shots, and before it stores them another upload revises one of them.
    const slow = new Proxy(db, {
      get(target, key) {
        const member = Reflect.get(target, key) as unknown;
        if (key !== 'transaction' || interfered) return typeof member === 'function' ? member.bind(target) : member;
        interfered = true;
        return async (...given: Parameters<Database['transaction']>) => {
          await send(db, north, [{ ...pixelShot('p-3', '2026-03-02'), rig: 'pixels@2', player: 'P9' }], {
            revise: true,
          });
          return target.transaction(...given);
        };
      },
    });
    const gear = { lab: 'north', kind: 'rigs', name: 'pixels' } as const;
    const back = { from: 2, to: 1, reason: 'after all the first was right' };
    const work = adoptGear(slow, north.lead, gear, back, { dryRun: false, accept: 'all' }, spoolDirectory);
    expect(await refusalOf(work)).toBe('shot-changed');
    expect(await Promise.all(['p-2', 'p-3'].map(rigOf))).toEqual(['pixels@2', 'pixels@2']);
    expect((await getShot(db, north.lead, idOf('p-3'))).content).toMatchObject({ player: 'P9' });
  });
});
