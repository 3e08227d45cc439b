import { sql } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { verifyAudit } from '../../src/access/audit.ts';
import { anonymous } from '../../src/access/principal.ts';
import { askComparison } from '../../src/comparison/ask-comparison.ts';
import { declareMargin, getMargin, listMargins } from '../../src/comparison/margins.ts';
import { getAnalysis } from '../../src/pooling/stored-analysis.ts';
import { equivalenceMargin } from '../../src/store/schema.ts';
import { makePrincipal } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { fillTwoLabs, inventedShot, send, type TwoLabs } from '../releases/two-labs.ts';
import { specify } from './made-shots.ts';

const reason = 'a tenth of a metre decides where the next shot is played from';
const bySign = {
  contrast: { kind: 'sign', variable: 'cueAcceleration' },
  response: 'outcomeDistance',
  match: [
    { variable: 'cueSpeed', caliper: 0.1 },
    { variable: 'tipOffset', caliper: 0.05 },
  ],
};
const laterDay = '2026-05-01';
const onDay = (date: string) => ({ groups: [{ grouping: 'sessionDate', values: [date] }] });

async function refusalOf(work: Promise<unknown>): Promise<Refusal> {
  try {
    await work;
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

onEachDatabase((open) => {
  let labs: TwoLabs;
  const db = () => open().db;
  beforeAll(async () => {
    labs = await fillTwoLabs(db());
  });

  test("a margin needs more than a reader's token, is seen by everybody and lands in the audit chain", async () => {
    const reader = await makePrincipal(db(), labs.curator, 'reader');
    const input = { variable: 'outcomeDistance', value: 0.1, reason } as const;
    expect((await refusalOf(declareMargin(db(), reader, input))).code).toBe('forbidden');
    expect((await refusalOf(declareMargin(db(), anonymous, input))).code).toBe('unauthenticated');
    const margin = await declareMargin(db(), labs.north.lead, input);
    expect(margin).toMatchObject({ ...input, supersededBy: null });
    expect(Math.abs(Date.parse(margin.declaredAt) - Date.now())).toBeLessThan(60_000);
    expect(await getMargin(db(), anonymous, margin.id)).toEqual(margin);
    expect(await listMargins(db(), anonymous)).toEqual([margin]);
    expect((await refusalOf(getMargin(db(), anonymous, 'half-a-ball'))).code).toBe('not-found');
    expect(await verifyAudit(db(), null)).toMatchObject({ ok: true });
  });

  test('a margin in balls is kept in SI, and as sent in the audit chain', async () => {
    const half = { variable: 'outcomeDistance', value: { value: 0.5, unit: 'ball' }, reason } as const;
    const margin = await declareMargin(db(), labs.north.lead, half);
    expect(margin.value).toBeCloseTo(0.028575, 15);
    const { rows } = await db().execute<{ detail: unknown }>(
      sql`select detail from audit_event where kind = 'margin-declared' and detail ->> 'margin' = ${margin.id}`,
    );
    expect(rows[0]?.detail).toMatchObject({ value: margin.value, asSent: { value: 0.5, unit: 'ball' } });
  });

  test('a margin is superseded once, by one of the same variable, and never edited', async () => {
    const curator = labs.curator;
    const old = await declareMargin(db(), curator, { variable: 'contactTime', value: 1e-4, reason });
    const wrong = declareMargin(db(), curator, { variable: 'cueSpeed', value: 0.1, reason, supersedes: old.id });
    expect((await refusalOf(wrong)).code).toBe('request-invalid');
    const next = { variable: 'contactTime', value: 5e-5, reason, supersedes: old.id } as const;
    const successor = await declareMargin(db(), curator, next);
    expect(successor.supersedes).toBe(old.id);
    expect((await getMargin(db(), anonymous, old.id)).supersededBy).toBe(successor.id);
    expect((await refusalOf(declareMargin(db(), curator, next))).code).toBe('margin-superseded');
    const [first, second] = await listMargins(db(), anonymous);
    expect([first?.id, second?.id]).toEqual([successor.id, old.id]);
    await expect(db().update(equivalenceMargin).set({ value: 1 }).execute()).rejects.toThrow();

    const asked = specify({ ...bySign, response: 'contactTime', margin: old.id });
    expect((await refusalOf(askComparison(db(), anonymous, asked))).code).toBe('margin-superseded');
  });

  test('without a margin the answer is an interval and no claim, kept under its id', async () => {
    const { id, scope, result } = await askComparison(db(), anonymous, specify(bySign));
    expect(scope).toBe('shared');
    expect(result.verdict).toBe('noMargin');
    expect(result.pairs).toHaveLength(10);
    expect(result.pairs.every(({ first, second }) => first.lab === second.lab)).toBe(true);
    expect(result.sentence).toMatch(/^10 pairs from 2 labs, same lab and set-up, /);
    expect((await getAnalysis(db(), anonymous, id)).result).toEqual(result);
    const shuffled = specify({ ...bySign, match: [...bySign.match].reverse(), exact: ['setUp', 'lab'] });
    expect(await askComparison(db(), anonymous, shuffled)).toEqual({ id, scope, result });
  });

  test('a margin declared after the shots makes the verdict exploratory, before them a prior one', async () => {
    const input = { variable: 'outcomeDistance', value: 0.1, reason } as const;
    const margin = await declareMargin(db(), labs.north.lead, input);
    const late = await askComparison(db(), anonymous, specify({ ...bySign, margin: margin.id }));
    expect(late.result.verdict).toBe('equivalent');
    expect(late.result.equivalence).toMatchObject({ prior: false, shareReceivedAfter: 0 });
    expect(late.result.equivalence?.margin).toEqual({ id: margin.id, value: 0.1, declaredAt: margin.declaredAt });
    expect(late.result.sentence).toContain('exploratory');

    const shots = Array.from({ length: 12 }, (_, place) => ({
      ...inventedShot('north', 100 + place),
      sessionDate: laterDay,
    }));
    await send(db(), labs.north, shots);
    const asked = specify({ ...bySign, margin: margin.id, filter: onDay(laterDay) });
    const prior = await askComparison(db(), anonymous, asked);
    expect(prior.result.equivalence).toMatchObject({ prior: true, shareReceivedAfter: 1 });
    expect(prior.result.sentence).not.toContain('exploratory');
    expect(prior.result.provenance).toMatchObject({ shots: 12, labs: [{ lab: 'north', shots: 12 }] });
    expect((await getAnalysis(db(), anonymous, late.id)).result).toEqual(late.result);
  });

  test('a margin for another variable, one that nobody declared and a closed scope are refused', async () => {
    const curator = labs.curator;
    const margin = await declareMargin(db(), curator, { variable: 'cueSpeed', value: 0.1, reason });
    const ask = (more: Record<string, unknown>) =>
      refusalOf(askComparison(db(), anonymous, specify({ ...bySign, ...more })));
    expect((await ask({ margin: margin.id })).code).toBe('request-invalid');
    expect((await ask({ margin: '00000000-0000-4000-8000-000000000000' })).code).toBe('not-found');
    expect((await ask({ scope: 'lab:north' })).code).toBe('not-found');
    expect((await ask({ response: 'cueSpeed' })).faults).toMatchObject([{ pointer: '/match/0/variable' }]);
  });

  test('too few pairs are refused with the reasons why shots stayed single', async () => {
    const asked = specify({ ...bySign, match: [{ variable: 'cueSpeed', caliper: 1e-9 }] });
    const refused = await refusalOf(askComparison(db(), labs.south.lead, asked));
    expect(refused.code).toBe('not-estimable');
    expect(refused.message).toMatch(
      /\d+ shots: none of the other side with the same lab and set-up within the calipers/,
    );
  });
});
