import { sql } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Notice } from '../../src/notices/notice.ts';
import type { NoticeFeed } from '../../src/notices/notice-feed.ts';
import { readVersions, VersionBook } from '../../src/pooling/version-book.ts';
import { onEachDatabase } from '../harness/service-database.ts';

/** A feed whose notices the test gives. */
class GivenFeed implements NoticeFeed {
  isUp = true;
  readonly #subscribers: ((notice: Notice) => void)[] = [];
  readonly #watchers: ((isUp: boolean) => void)[] = [];
  subscribe(hear: (notice: Notice) => void) {
    this.#subscribers.push(hear);
    return () => {};
  }
  onChange(hear: (isUp: boolean) => void) {
    this.#watchers.push(hear);
    return () => {};
  }
  async whenUp() {}
  async close() {}
  give(notice: Notice) {
    for (const hear of this.#subscribers) hear(notice);
  }
  turn(isUp: boolean) {
    this.isUp = isUp;
    for (const hear of this.#watchers) hear(isUp);
  }
}

describe('the book of versions', () => {
  onEachDatabase((open) => {
    const db = () => open().db;
    const bump = () => db().execute(sql`update lab set version = version + 1 where slug = 'north'`);
    const versionOf = async (book: VersionBook) => (await book.read()).labs.get('north')?.version;
    const inDatabase = async () => (await readVersions(db())).labs.get('north')?.version ?? 0;
    const opened = () => {
      const feed = new GivenFeed();
      let shared = 0;
      const book = new VersionBook(db(), feed, async () => {
        shared += 1;
        await db().execute(sql`update planned_sharing set done_at = now()`);
      });
      return { feed, book, timesShared: () => shared };
    };

    beforeAll(async () => {
      await db().execute(sql`
        insert into lab (slug, title, data_licence, consent_reference) values ('north', 'Invented', 'CC0-1.0', 'E-1')`);
    });

    it('keeps what it read while notices are heard, and follows them', async () => {
      const { feed, book } = opened();
      const before = (await versionOf(book)) ?? 0;
      await bump();
      expect(await versionOf(book)).toBe(before);
      feed.give({ kind: 'labVersion', lab: 'north', version: before + 1, sharedVersion: 0 });
      expect(await versionOf(book)).toBe(before + 1);
      // One that comes late takes nothing back.
      feed.give({ kind: 'labVersion', lab: 'north', version: before, sharedVersion: 0 });
      expect(await versionOf(book)).toBe(before + 1);
    });

    it('asks the database again when told so, for a lab it does not know, and after every write here', async () => {
      for (const unsettle of [
        ({ feed }: ReturnType<typeof opened>) => feed.give({ kind: 'readAgain', what: 'versions' }),
        ({ feed }: ReturnType<typeof opened>) =>
          feed.give({ kind: 'labVersion', lab: 'new', version: 0, sharedVersion: 0 }),
        ({ book }: ReturnType<typeof opened>) => book.invalidate(),
      ]) {
        const both = opened();
        await both.book.read();
        await bump();
        unsettle(both);
        expect(both.book.current()).toBeNull();
        expect(await versionOf(both.book)).toBe(await inDatabase());
      }
    });

    it('keeps nothing while notices are not heard, and nothing from before when they are heard again', async () => {
      const { feed, book } = opened();
      await book.read();
      feed.turn(false);
      for (let round = 0; round < 2; round += 1) {
        await bump();
        expect(book.current()).toBeNull();
        expect(await versionOf(book)).toBe(await inDatabase());
      }
      feed.turn(true);
      expect(book.current()).toBeNull();
      expect(await versionOf(book)).toBe(await inDatabase());
      expect(book.current()).not.toBeNull();
    });

    it('does not keep a reading that a write overtook', async () => {
      const { book } = opened();
      const early = book.read();
      book.invalidate();
      await early;
      expect(book.current()).toBeNull();
    });

    it('applies what it hears while it reads', async () => {
      const { feed, book } = opened();
      const next = (await inDatabase()) + 1;
      const reading = book.read();
      feed.give({ kind: 'labVersion', lab: 'north', version: next, sharedVersion: 0 });
      await reading;
      expect(await versionOf(book)).toBe(next);
    });

    it('shares what is due before it answers, and does not keep versions past the next date', async () => {
      await db().execute(sql`
        insert into planned_sharing (lab_id, choice, due_at) select id, '{}', now() - interval '1 second' from lab`);
      const { book, timesShared } = opened();
      await book.read();
      expect(timesShared()).toBe(1);
      await db().execute(sql`
        insert into planned_sharing (lab_id, choice, due_at) select id, '{}', now() + interval '900 milliseconds' from lab`);
      book.invalidate();
      await book.read();
      expect(book.current()).toBeNull();
    });

    it('knows a state that was put back as another one', async () => {
      const { epoch } = await readVersions(db());
      // What a restored dump does: the tables are made again.
      await db().execute(sql`create table kept as select * from server_state`);
      await db().execute(sql`alter table server_state rename to lost`);
      await db().execute(sql`alter table kept rename to server_state`);
      expect((await readVersions(db())).epoch).not.toBe(epoch);
    });
  });
});
