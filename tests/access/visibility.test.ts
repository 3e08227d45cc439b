import { and, eq, sql } from 'drizzle-orm';
import { beforeAll, describe, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { anonymous, type Principal } from '../../src/access/principal.ts';
import {
  isVisible,
  mayUseScope,
  requireScope,
  type Scope,
  sightOf,
  sightOfScope,
  visibleWhere,
} from '../../src/access/visibility.ts';
import { lab, shot } from '../../src/store/schema.ts';
import { makeCurator, makeLab, makePrincipal } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';

const shared = ['north/shared', 'south/shared'];
const northToo = ['north/private', ...shared];

onEachDatabase((open) => {
  const principals = new Map<string, Principal>();

  beforeAll(async () => {
    const { db } = open();
    const curator = await makeCurator(db);
    principals.set('curator', curator);
    principals.set('anonymous', anonymous);
    principals.set('reader', await makePrincipal(db, curator, 'reader'));
    for (const slug of ['north', 'south']) {
      const { id, lead, contributor } = await makeLab(db, curator, slug);
      principals.set(`${slug} lead`, lead);
      principals.set(`${slug} contributor`, contributor);
      await db.insert(shot).values([
        { labId: id, label: 'shared', ordinal: 1, shared: true },
        { labId: id, label: 'private', ordinal: 2, shared: false },
      ]);
    }
  });

  /** Shots by the query and by the predicate, which must agree. */
  async function seenBy(sight: ReturnType<typeof sightOf>): Promise<string[]> {
    const { db } = open();
    const name = sql<string>`${lab.slug} || '/' || ${shot.label}`;
    const rows = await db
      .select({ name })
      .from(shot)
      .innerJoin(lab, eq(lab.id, shot.labId))
      .where(and(visibleWhere(sight, shot)));
    const all = await db
      .select({ name, lab: lab.slug, shared: shot.shared })
      .from(shot)
      .innerJoin(lab, eq(lab.id, shot.labId));
    const byQuery = rows.map((row) => row.name).sort();
    expect(
      all
        .filter((one) => isVisible(sight, one))
        .map((one) => one.name)
        .sort(),
    ).toEqual(byQuery);
    return byQuery;
  }

  test.each<[string, string[]]>([
    ['anonymous', shared],
    ['reader', shared],
    ['curator', shared],
    ['north lead', northToo],
    ['north contributor', northToo],
    ['south lead', ['north/shared', 'south/private', 'south/shared']],
  ])('%s sees what is shared, and what is unshared only as a member of its lab', async (name, expected) => {
    expect(await seenBy(sightOf(principals.get(name) ?? anonymous))).toEqual(expected);
  });

  test.each<[Scope, string[]]>([
    ['shared', shared],
    ['lab:north', northToo],
    ['lab:nowhere', shared],
  ])('the scope %s holds what it says', async (scope, expected) => {
    expect(await seenBy(sightOfScope(scope))).toEqual(expected);
  });

  describe('a scope', () => {
    test("of a lab is open to its members only, 'shared' to everyone", () => {
      const openTo = (scope: Scope) =>
        [...principals].filter(([, principal]) => mayUseScope(principal, scope)).map(([name]) => name);
      expect(openTo('shared')).toEqual([...principals.keys()]);
      expect(openTo('lab:north')).toEqual(['north lead', 'north contributor']);
      expect(openTo('lab:nowhere')).toEqual([]);
    });

    test('that may not be used looks like one that does not exist', () => {
      const reader = principals.get('reader') ?? anonymous;
      for (const scope of ['lab:north', 'lab:nowhere', 'everything', 'lab:']) {
        expect(() => requireScope(reader, scope)).toThrow(
          expect.toSatisfy((error: unknown) => error instanceof Refusal && error.code === 'not-found'),
        );
      }
      expect(requireScope(principals.get('north lead') ?? anonymous, 'lab:north')).toBe('lab:north');
    });
  });
});
