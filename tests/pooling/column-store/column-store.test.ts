import { sql } from 'drizzle-orm';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Scope } from '../../../src/access/visibility.ts';
import { ColumnStore } from '../../../src/pooling/column-store/column-store.ts';
import type { ShotColumns } from '../../../src/pooling/columns.ts';
import { dataVersionOf, readDataVersion } from '../../../src/pooling/data-version.ts';
import { loadLiveColumns } from '../../../src/pooling/load-columns.ts';
import { renewEpoch } from '../../../src/pooling/renew-epoch.ts';
import { readVersions } from '../../../src/pooling/version-book.ts';
import { onEachDatabase } from '../../harness/service-database.ts';
import { lab, type Service, startService, validShot } from '../../rest/service.ts';

const scopes: readonly Scope[] = ['shared', `lab:${lab}`, 'lab:none-of-its-own'];
const uploads = `/v1/labs/${lab}/submissions`;

/** Every member read, so that lazy columns compare like any others. */
function plain(columns: ShotColumns): object {
  const all = <Value>(members: Readonly<Record<string, Value>>) => ({ ...members });
  const { count, ordinals, labels, covarianceSpeedAcceleration, flags, fromTrack, receivedAt } = columns;
  return {
    count,
    ordinals,
    labels,
    covarianceSpeedAcceleration,
    flags,
    fromTrack,
    receivedAt,
    variables: all(columns.variables),
    uncertainties: all(columns.uncertainties),
    commonUncertainties: all(columns.commonUncertainties),
    groups: all(columns.groups),
  };
}

type Step =
  | { readonly kind: 'upload'; readonly shots: readonly { shared: boolean; style: string | null; speed: number }[] }
  | { readonly kind: 'amend' | 'withdraw' | 'share' | 'unshare' | 'planned'; readonly which: number }
  | { readonly kind: 'map'; readonly style: string }
  | { readonly kind: 'restored' };

const styles = ['long', 'short', 'punch'];
const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 3,
    arbitrary: fc.record({
      kind: fc.constant('upload' as const),
      shots: fc.array(
        fc.record({
          shared: fc.boolean(),
          style: fc.option(fc.constantFrom(...styles)),
          speed: fc.constantFrom(1.9, 2.6, 3.3, 4.4),
        }),
        { minLength: 1, maxLength: 4 },
      ),
    }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constantFrom('amend', 'withdraw', 'share', 'unshare', 'planned'),
      which: fc.nat(1000),
    }) as fc.Arbitrary<Step>,
  },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('map' as const), style: fc.constantFrom(...styles) }) },
  { weight: 1, arbitrary: fc.constant({ kind: 'restored' as const }) },
);

describe('columns kept in memory', () => {
  onEachDatabase((open) => {
    let service: Service;
    const labels: string[] = [];
    const shotOf = (label: string, speed: number, shared: boolean, style: string | null) => {
      const { strokeStyle: _, ...shot } = validShot(label, { shared }, speed);
      return style === null ? shot : { ...shot, strokeStyle: style };
    };
    const send = async (method: string, url: string, body?: unknown, role: 'contributor' | 'lead' = 'contributor') => {
      const answer = await service.ask(role, method, url, body);
      expect(answer.status, answer.text).toBeLessThan(500);
      return answer;
    };
    const idOf = async (label: string): Promise<string> => {
      const { rows } = await open().db.execute<{ id: string }>(
        sql`select id::text as id from shot where label = ${label}`,
      );
      return rows[0]?.id ?? '';
    };

    const take = async (one: Step): Promise<void> => {
      if (one.kind === 'upload') {
        const shots = one.shots.map(({ speed, shared, style }) => {
          const label = `shot-${labels.length}`;
          labels.push(label);
          return shotOf(label, speed, shared, style);
        });
        expect((await send('POST', uploads, { shots })).status).toBe(201);
        return;
      }
      if (one.kind === 'restored') return renewEpoch(open().db);
      if (one.kind === 'map') {
        await send(
          'POST',
          `/v1/labs/${lab}/vocabularies`,
          { kind: 'strokeStyle', code: one.style, term: 'curated' },
          'lead',
        );
        return;
      }
      if (labels.length === 0) return;
      const label = labels[one.which % labels.length] as string;
      if (one.kind === 'amend')
        await send('POST', `${uploads}?revise=true`, shotOf(label, 2 + (one.which % 7) / 4, false, null));
      if (one.kind === 'withdraw')
        await send('POST', `/v1/shots/${await idOf(label)}/withdrawal`, { reason: 'for the test' });
      if (one.kind === 'share') await send('POST', `/v1/labs/${lab}/sharing`, { labels: [label] });
      if (one.kind === 'unshare') await send('POST', `/v1/labs/${lab}/unsharing`, { labels: [label] });
      if (one.kind === 'planned') {
        // Due by the time of the next question.
        await send('POST', `/v1/labs/${lab}/sharing`, {
          labels: [label],
          from: new Date(Date.now() - 1000).toISOString(),
        });
        await service.ask('reader', 'GET', '/v1/regression?response=contactTime&terms=cueSpeed');
      }
    };

    beforeAll(async () => {
      service = await startService(open());
      await service.ask('curator', 'POST', '/v1/vocabularies', {
        kind: 'strokeStyle',
        code: 'curated',
        meaning: 'any',
      });
      // So that the shots of the test lie in two chunks.
      await open().db.execute(sql`update lab set next_ordinal = 8187 where slug = ${lab}`);
    });
    afterAll(() => service.app.close());

    it('are the same as read from the start, after any history, whatever of them is kept', async () => {
      const kept = new ColumnStore(open(), 1e9);
      const partly = new ColumnStore(open(), 20_000);
      const streaming = new ColumnStore(open(), 0);
      await fc.assert(
        fc.asyncProperty(fc.array(step, { minLength: 1, maxLength: 5 }), async (steps) => {
          for (const one of steps) await take(one);
          const versions = await readVersions(open().db);
          const cold = new ColumnStore(open(), 1e9);
          for (const scope of scopes) {
            const expected = plain(await loadLiveColumns(open().db, scope));
            const { digest } = await readDataVersion(open().db, scope);
            for (const store of [kept, partly, streaming, cold]) {
              const view = await store.view(scope, versions, true);
              // As a thread would get them, every member included.
              expect(plain(structuredClone(view.columns))).toEqual(expected);
              expect(dataVersionOf(view.versions, scope).digest).toBe(digest);
            }
          }
          expect(streaming.bytes).toBe(0);
          expect(partly.bytes).toBeLessThanOrEqual(20_000);
        }),
        { seed: 20260301, numRuns: 8, endOnFailure: true },
      );
      expect(labels.length).toBeGreaterThan(12);
    });
  });
});
