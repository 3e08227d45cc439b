import { sql } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bumpLabVersion, lockLab } from '../../src/access/lab-version.ts';
import { renewEpoch } from '../../src/pooling/renew-epoch.ts';
import type { OpenDatabase } from '../../src/store/database.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const link = '/v1/regression?response=contactTime&terms=cueSpeed&labs=ignored';
const own = `${link}&scope=lab:${lab}`;

describe('several servers on one database', () => {
  onEachDatabase((open) => {
    /** Keeps what it can; reads everything for every question; computes in threads; hears no notices. */
    let servers: Record<'keeping' | 'streaming' | 'threaded' | 'deaf', Service>;
    let deafened = true;
    let shots = 0;
    const deafDatabase = (): OpenDatabase => ({
      ...open(),
      listen: (channel, hear) => (deafened ? Promise.reject(new Error('no connection')) : open().listen(channel, hear)),
    });
    const upload = async (at: Service, shared = true) => {
      shots += 1;
      const speed = 2 + (shots % 5) / 2;
      const contact = { closedFrame: 220, openFrame: 224 + (shots % 3) };
      const sent = await at.ask(
        'contributor',
        'POST',
        `/v1/labs/${lab}/submissions`,
        validShot(`several-${shots}`, { shared, contact }, speed, 10 + (shots % 4)),
      );
      expect(sent.status).toBe(201);
    };
    const used = async (at: Service) => (await at.ask('reader', 'GET', link)).json.result.provenance.shots as number;

    beforeAll(async () => {
      servers = {
        keeping: await startService(open()),
        streaming: await startService(open(), { columnBytes: 0 }),
        threaded: await startService(open(), { manyShots: 0 }),
        deaf: await startService(deafDatabase()),
      };
      for (let count = 0; count < 6; count += 1) await upload(servers.keeping, count % 3 !== 2);
    });
    afterAll(async () => {
      for (const { app } of Object.values(servers)) await app.close();
    });

    it('answer with the same bytes and validators, whatever they keep and wherever they compute', async () => {
      for (const [place, url] of [link, own].entries()) {
        const answers: object[] = [];
        for (const at of Object.values(servers)) {
          const answer = await at.ask('lead', 'GET', `${url}&confidence=0.9${place}`);
          expect(answer.status, answer.text).toBe(200);
          answers.push({ text: answer.text, etag: answer.headers.etag });
          // So that the next server computes it too.
          await open().db.execute(sql`delete from analysis where id = ${answer.json.id}`);
        }
        expect(answers).toEqual(answers.map(() => answers[0]));
      }
    });

    it('ask the database for every question while they hear no notices, so that nothing is late', async () => {
      for (let round = 0; round < 3; round += 1) {
        await upload(servers.keeping);
        const [now, there] = [await used(servers.keeping), await used(servers.deaf)];
        expect(there).toBe(now);
      }
    });

    it('read everything again when they hear notices again', async () => {
      await upload(servers.keeping);
      deafened = false;
      const now = await used(servers.keeping);
      await expect.poll(() => used(servers.deaf), { timeout: 10_000 }).toBe(now);
      await upload(servers.keeping);
      await expect.poll(() => used(servers.deaf), { timeout: 10_000 }).toBe(now + 1);
    });

    it('lose their connection for notices and miss nothing of what is written meanwhile', async () => {
      const before = await used(servers.keeping);
      if (open().kind === 'postgresql') {
        await open().db.execute(sql`select pg_terminate_backend(pid) from pg_stat_activity
          where datname = current_database() and application_name = 'shot-commons notices'`);
      }
      await upload(servers.streaming);
      for (const at of Object.values(servers)) {
        await expect.poll(() => used(at), { timeout: 10_000 }).toBe(before + 1);
      }
    });

    it('give no answer of a state that is not committed, and the new one when a late writer commits', async () => {
      if (open().kind === 'embedded') return;
      const before = await used(servers.keeping);
      let commit: () => void = () => {};
      const gate = new Promise<void>((resolve) => {
        commit = resolve;
      });
      const late = open().db.transaction(async (tx) => {
        const { rows } = await tx.execute<{ id: number }>(sql`select id from lab where slug = ${lab}`);
        const labId = rows[0]?.id ?? 0;
        await lockLab(tx, labId);
        await tx.execute(sql`delete from hot_shot where ordinal = 1 and lab_id = ${labId}`);
        await bumpLabVersion(tx, labId, { sharedChanged: true });
        await gate;
      });
      for (let round = 0; round < 3; round += 1) {
        for (const at of Object.values(servers)) expect(await used(at)).toBe(before);
      }
      commit();
      await late;
      for (const at of Object.values(servers)) {
        await expect.poll(() => used(at), { timeout: 10_000 }).toBe(before - 1);
      }
    });

    it('take no answer of another future for one of a restored state', async () => {
      const before = await servers.keeping.ask('reader', 'GET', link);
      await renewEpoch(open().db);
      for (const at of Object.values(servers)) {
        await expect
          .poll(async () => (await at.ask('reader', 'GET', link)).json.id, { timeout: 10_000 })
          .not.toBe(before.json.id);
      }
      const after = await servers.keeping.ask('reader', 'GET', link);
      expect(after.json.result.coefficients).toEqual(before.json.result.coefficients);
      expect((await servers.keeping.ask('reader', 'GET', `/v1/analyses/${before.json.id}`)).text).toBe(before.text);
    });

    it('count a sharing that is due from its date on', async () => {
      await upload(servers.keeping, false);
      const before = await used(servers.threaded);
      const due = new Date(Date.now() + 1_200);
      const planned = await servers.keeping.ask('contributor', 'POST', `/v1/labs/${lab}/sharing`, {
        labels: [`several-${shots}`],
        from: due.toISOString(),
      });
      expect(planned.status).toBeLessThan(300);
      expect(await used(servers.threaded)).toBe(before);
      await new Promise((resolve) => setTimeout(resolve, due.getTime() - Date.now() + 50));
      for (const at of Object.values(servers)) expect(await used(at)).toBe(before + 1);
    });
  });
});
