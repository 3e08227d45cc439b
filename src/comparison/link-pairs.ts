/** Use case: the pairs of a comparison with what stands behind them, down to the frames counted. */
import { and, eq, or, sql } from 'drizzle-orm';
import { z } from 'zod';
import type { LinkedShot, PairLinks } from '../../shared/pair-links.ts';
import type { VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import { contactSchema } from '../../shared/shot.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope, sightOf } from '../access/visibility.ts';
import { type StoredShotRecord, selectShots } from '../intake/visible-shots.ts';
import { type RowContent, rowOfDerived } from '../pooling/row-of-derived.ts';
import type { Database } from '../store/database.ts';
import { analysis, lab, shot } from '../store/schema.ts';

/** What is read of a stored pair: later versions of the answer may hold more. */
const pairedShot = z.looseObject({
  lab: z.string(),
  label: z.string(),
  response: z.number(),
  match: z.array(z.number()),
});
const storedPair = z.looseObject({ first: pairedShot, second: pairedShot, distance: z.number() });
type PairedShot = z.output<typeof pairedShot>;
const storedQuestion = z.looseObject({
  response: z.string(),
  match: z.array(z.looseObject({ variable: z.string() })),
});

/**
 * A page of pairs with their links. The pairs are cut out of the answer by the database, so that a long answer is never
 * read as a whole.
 * @throws Refusal 'unauthenticated'; 'not-found' for an id that is no comparison of a scope that is open; 'request-invalid'
 *   for a cursor that is none
 */
export async function linkPairs(
  db: Database,
  principal: Principal,
  id: string,
  { after, limit }: { readonly after?: string | undefined; readonly limit: number },
): Promise<PairLinks> {
  permit(principal, 'readShared');
  const from = after === undefined ? 0 : Number(after);
  if (!/^\d{1,9}$/.test(after ?? '0')) throw new Refusal('request-invalid', 'after is not a cursor of this list.');
  const [row] = await db
    .select({
      scope: analysis.scope,
      specification: analysis.specification,
      sentence: sql<string>`${analysis.result} ->> 'sentence'`,
    })
    .from(analysis)
    .where(and(eq(analysis.id, id), eq(analysis.kind, 'comparison')));
  if (row === undefined) throw new Refusal('not-found', `there is no comparison ${id}`);
  requireScope(principal, row.scope);
  const { rows } = await db.execute<{ pair: unknown }>(sql`
    select each.pair from analysis,
      json_array_elements(analysis.result -> 'pairs') with ordinality as each (pair, place)
    where analysis.id = ${id} and each.place > ${from}::bigint
    order by each.place limit ${limit + 1}::int`);
  const pairs = rows.slice(0, limit).map(({ pair }) => storedPair.parse(pair));
  const seen = await shotsOf(
    db,
    principal,
    pairs.flatMap(({ first, second }) => [first, second]),
  );
  const question = storedQuestion.parse(row.specification);
  const linked = (paired: PairedShot) => linkedShot(paired, seen.get(nameOf(paired)), question);
  return {
    analysis: `/v1/analyses/${id}`,
    sentence: row.sentence,
    pairs: pairs.map((pair, place) => {
      const [first, second] = [linked(pair.first), linked(pair.second)];
      const other = seen.get(nameOf(pair.second));
      return {
        pair: from + place + 1,
        first,
        second,
        distance: pair.distance,
        overlay: first.shot === null || other === undefined ? null : `${first.shot}/overlay/${other.id}`,
      };
    }),
    next: rows.length > limit ? String(from + limit) : null,
  };
}

const nameOf = (place: { readonly lab: string; readonly label: string }) => `${place.lab} ${place.label}`;

async function shotsOf(
  db: Database,
  principal: Principal,
  paired: readonly PairedShot[],
): Promise<Map<string, StoredShotRecord>> {
  if (paired.length === 0) return new Map();
  const labels = new Map<string, string[]>();
  for (const { lab: slug, label } of paired) labels.set(slug, [...(labels.get(slug) ?? []), label]);
  const which = or(
    ...[...labels].map(([slug, own]) => and(eq(lab.slug, slug), sql`${shot.label} = any(${sql.param(own)}::text[])`)),
  );
  const records = await selectShots(db, sightOf(principal), which, 2 * paired.length);
  return new Map(records.map((record) => [nameOf(record), record]));
}

function linkedShot(
  { lab: slug, label, response, match }: PairedShot,
  record: StoredShotRecord | undefined,
  question: z.output<typeof storedQuestion>,
): LinkedShot {
  if (record === undefined) {
    return {
      lab: slug,
      label,
      response,
      shot: null,
      derivation: null,
      track: null,
      figure: null,
      contact: null,
      countedContactTime: null,
      unchanged: null,
    };
  }
  const address = `/v1/shots/${record.id}`;
  const content = record.content as RowContent & { readonly contact?: unknown };
  const { variables } = rowOfDerived(content, record.derived, { lab: slug, ordinal: record.ordinal, receivedAt: 0 });
  const now = (variable: string) => variables[variable as VariableName];
  return {
    lab: slug,
    label,
    response,
    shot: address,
    derivation: `${address}/derivation`,
    track: record.derived.source === 'track' ? `${address}/track` : null,
    figure: `${address}/figure.svg`,
    contact: content.contact === undefined ? null : contactSchema.parse(content.contact),
    countedContactTime: record.derived.countedContactTime,
    unchanged:
      now(question.response) === response &&
      question.match.every(({ variable }, place) => now(variable) === match[place]),
  };
}
