import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { eq, sql } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { createLab, getLab, listLabs } from '../../src/access/labs.ts';
import { anonymous, type Principal } from '../../src/access/principal.ts';
import { tokenPrefix } from '../../src/access/token-text.ts';
import { createToken, ensureFirstCurator, findPrincipal, revokeToken } from '../../src/access/tokens.ts';
import { accessToken } from '../../src/store/schema.ts';
import { makeCurator, makeLab, makePrincipal, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';

const codeOf = (work: Promise<unknown>) =>
  work.then(
    () => 'nothing refused',
    (error: unknown) => {
      if (error instanceof Refusal) return error.code;
      throw error;
    },
  );

onEachDatabase((open) => {
  let curator: Principal;
  let north: TestLab;
  let south: TestLab;
  const db = () => open().db;

  beforeAll(async () => {
    curator = await makeCurator(db());
    north = await makeLab(db(), curator, 'north');
    south = await makeLab(db(), curator, 'south');
  });

  describe('tokens', () => {
    test('a token carries 256 bits behind its prefix and only its hash is stored', async () => {
      const { id, token, role } = await createToken(db(), curator, { role: 'reader', lab: null, note: 'r1' });
      expect(token.startsWith(tokenPrefix)).toBe(true);
      expect(Buffer.from(token.slice(tokenPrefix.length), 'base64url')).toHaveLength(32);
      expect(role).toBe('reader');
      const rows = await db().select().from(accessToken).where(eq(accessToken.id, id));
      expect(rows[0]?.hash).toHaveLength(32);
      expect(JSON.stringify(rows)).not.toContain(token.slice(tokenPrefix.length));
    });

    test('a token leads to its role and lab, and its use is noted', async () => {
      const { id, token } = await createToken(db(), north.lead, { role: 'contributor', lab: 'north', note: 'k2' });
      const found = await findPrincipal(db(), token);
      expect(found).toEqual({
        ok: true,
        keepFor: 60_000,
        principal: { role: 'contributor', lab: { id: north.id, slug: 'north' }, tokenId: id },
      });
      const rows = await db().select().from(accessToken).where(eq(accessToken.id, id));
      expect(rows[0]?.lastUsedAt).toBeInstanceOf(Date);
    });

    test('an unknown token is unknown, an ended one is expired', async () => {
      expect(await findPrincipal(db(), `${tokenPrefix}nothing`)).toEqual({ ok: false, reason: 'unknown' });
      const past = await createToken(db(), curator, {
        role: 'reader',
        lab: null,
        note: 'past',
        expiresAt: '2020-01-01T00:00:00+02:00',
      });
      expect(await findPrincipal(db(), past.token)).toEqual({ ok: false, reason: 'expired' });
      const revoked = await createToken(db(), curator, { role: 'reader', lab: null, note: 'revoked' });
      await revokeToken(db(), curator, revoked.id);
      await revokeToken(db(), curator, revoked.id);
      expect(await findPrincipal(db(), revoked.token)).toEqual({ ok: false, reason: 'expired' });
    });

    test('leads give and end tokens of their own lab only', async () => {
      expect(await codeOf(createToken(db(), north.lead, { role: 'lead', lab: 'south', note: 'x' }))).toBe('forbidden');
      expect(await codeOf(createToken(db(), north.lead, { role: 'reader', lab: null, note: 'x' }))).toBe('forbidden');
      expect(await codeOf(createToken(db(), north.contributor, { role: 'contributor', lab: 'north', note: 'x' }))).toBe(
        'forbidden',
      );
      expect(await codeOf(revokeToken(db(), north.lead, String(south.contributor.tokenId)))).toBe('not-found');
      const own = await createToken(db(), north.lead, { role: 'contributor', lab: 'north', note: 'x' });
      await revokeToken(db(), north.lead, own.id);
      expect(await findPrincipal(db(), own.token)).toEqual({ ok: false, reason: 'expired' });
    });

    test('role and lab must go together and the lab must exist', async () => {
      expect(await codeOf(createToken(db(), curator, { role: 'lead', lab: null, note: 'x' }))).toBe('request-invalid');
      expect(await codeOf(createToken(db(), curator, { role: 'reader', lab: 'north', note: 'x' }))).toBe(
        'request-invalid',
      );
      expect(await codeOf(createToken(db(), curator, { role: 'lead', lab: 'nowhere', note: 'x' }))).toBe('not-found');
    });
  });

  describe('the first curator', () => {
    const directory = mkdtempSync(join(tmpdir(), 'shot-commons-curator-'));
    afterAll(() => rmSync(directory, { recursive: true, force: true }));

    test('is not made again while a curator is left', async () => {
      expect(await ensureFirstCurator(db(), { directory })).toEqual({ token: null, file: null });
    });

    test('is written to a file that only its owner reads, and two starts at once make one', async () => {
      await db().update(accessToken).set({ revokedAt: sql`now()` }).where(eq(accessToken.role, 'curator'));
      writeFileSync(join(directory, 'curator-token'), 'an old one', { mode: 0o644 });
      const made = await Promise.all([1, 2].map(() => ensureFirstCurator(db(), { given: null, directory })));
      const first = made.filter(({ token }) => token !== null);
      expect(first).toHaveLength(1);
      const { token, file } = first[0] ?? {};
      expect(file).toBe(join(directory, 'curator-token'));
      expect(readFileSync(String(file), 'utf8')).toBe(`${token}\n`);
      expect(statSync(String(file)).mode & 0o777).toBe(0o600);
      const found = await findPrincipal(db(), String(token));
      expect(found.ok && found.principal.role).toBe('curator');
    });

    test('may be given by the operator, is then written nowhere, and stays revoked once revoked', async () => {
      const given = 'chosen-by-the-operator-of-this-server';
      expect(await ensureFirstCurator(db(), { given, directory })).toEqual({ token: given, file: null });
      expect(await ensureFirstCurator(db(), { given, directory })).toEqual({ token: null, file: null });
      const found = await findPrincipal(db(), given);
      if (!found.ok) throw new Error('the given token must work');
      await revokeToken(db(), found.principal, String(found.principal.tokenId));
      expect(await ensureFirstCurator(db(), { given, directory })).toEqual({ token: null, file: null });
      expect(await findPrincipal(db(), given)).toEqual({ ok: false, reason: 'expired' });
      await expect(ensureFirstCurator(db(), { given: 'short', directory })).rejects.toThrow('at least 32 characters');
    });
  });

  describe('labs', () => {
    test('are registered by the curator only, once', async () => {
      const input = { slug: 'east', title: 'East', dataLicence: 'CC0-1.0', consentReference: 'E-1' };
      expect(await codeOf(createLab(db(), north.lead, input))).toBe('forbidden');
      expect(await createLab(db(), curator, input)).toMatchObject(input);
      expect(await codeOf(createLab(db(), curator, { ...input, title: 'Another' }))).toBe('name-taken');
    });

    test('are seen by every reader, by slug', async () => {
      const reader = await makePrincipal(db(), curator, 'reader');
      expect((await listLabs(db(), reader)).map(({ slug }) => slug)).toEqual(['east', 'north', 'south']);
      expect(await getLab(db(), anonymous, 'north')).toMatchObject({ slug: 'north', dataLicence: 'CC-BY-4.0' });
      expect(await codeOf(getLab(db(), reader, 'nowhere'))).toBe('not-found');
    });
  });
});
