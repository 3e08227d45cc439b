import { sql } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Notice, NoticeOf } from '../../src/notices/notice.ts';
import { type NoticeFeed, openNoticeFeed } from '../../src/notices/notice-feed.ts';
import { publishNotice } from '../../src/notices/publish-notice.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from '../rest/service.ts';

const frozen = (number: number): NoticeOf<'releaseFrozen'> => ({
  kind: 'releaseFrozen',
  dataset: 'trial',
  number,
  digest: 'd',
});

describe('the feed of notices', () => {
  onEachDatabase((open) => {
    let feed: NoticeFeed;
    let service: Service;
    const heard: Notice[] = [];
    const publish = (notice: Notice) => open().db.transaction((tx) => publishNotice(tx, notice));
    /** Everything published so far was heard once this returns. */
    const caughtUp = async () => {
      const marker = frozen(1_000_000 + heard.length);
      await publish(marker);
      await expect
        .poll(() => heard.some((one) => one.kind === 'releaseFrozen' && one.number === marker.number), {
          timeout: 10_000,
        })
        .toBe(true);
    };
    const since = async (from: number) => {
      await caughtUp();
      return heard.slice(from).filter((one) => !(one.kind === 'releaseFrozen' && one.number >= 1_000_000));
    };

    beforeAll(async () => {
      service = await startService(open());
      feed = openNoticeFeed(open());
      feed.subscribe((notice) => heard.push(notice));
      await feed.whenUp();
    });
    afterAll(async () => {
      await service.app.close();
      await feed.close();
    });

    it('tells what was committed, in the order of commits, and nothing of what was taken back', async () => {
      const from = heard.length;
      await publish(frozen(1));
      await open()
        .db.transaction(async (tx) => {
          await publishNotice(tx, frozen(2));
          throw new Error('taken back');
        })
        .catch(() => {});
      await publish(frozen(3));
      expect(await since(from)).toEqual([frozen(1), frozen(3)]);
    });

    it('tells the versions of a lab and the submissions that moved them', async () => {
      const from = heard.length;
      const sent = await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, validShot('noticed'));
      expect(sent.status).toBe(201);
      const notices = await since(from);
      expect(notices.map(({ kind }) => kind)).toEqual(['submissionAccepted', 'labVersion']);
      expect(notices[0]).toMatchObject({ lab, submission: sent.json.submission, shared: true });
      const { rows } = await open().db.execute<{ version: number; shared: number }>(
        sql`select version::int as version, shared_version::int as shared from lab where slug = ${lab}`,
      );
      expect(notices[1]).toMatchObject({ lab, version: rows[0]?.version, sharedVersion: rows[0]?.shared });
    });

    it('does not stumble over what it cannot read', async () => {
      const from = heard.length;
      await open().db.execute(sql`select pg_notify('shot_commons', 'not a notice')`);
      await open().db.execute(sql`select pg_notify('shot_commons', '{"kind":"of a later build"}')`);
      expect(await since(from)).toEqual([]);
    });

    it('says when its connection is lost, makes it again, and then hears what comes', async () => {
      if (open().kind === 'embedded') return;
      const states: boolean[] = [];
      const stop = feed.onChange((isUp) => states.push(isUp));
      await open().db.execute(
        sql`select pg_terminate_backend(pid) from pg_stat_activity
          where datname = current_database() and application_name = 'shot-commons notices'`,
      );
      await expect.poll(() => states, { timeout: 10_000 }).toEqual([false, true]);
      stop();
      const from = heard.length;
      await publish(frozen(4));
      expect(await since(from)).toEqual([frozen(4)]);
    });
  });
});
