/** Hostile queries are refused before they run, with what was asked and what is allowed. */
import { beforeAll, describe, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { type Service, startService } from '../rest/service.ts';

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
  });
  const ask = async (query: string, variables: object = {}) =>
    service.ask('reader', 'POST', '/graphql', { query, variables });

  describe('a query is refused', () => {
    const nested = (levels: number) => `{ labs { slug ${'... on Lab { '.repeat(levels)} slug ${'}'.repeat(levels)} } }`;
    const cases: readonly [string, string, string][] = [
      [
        'deeper than the limit',
        `query { __schema { types ${'{ ofType '.repeat(0)} { ${'fields { type { '.repeat(9)} name ${'} }'.repeat(9)} } } }`,
        'depth',
      ],
      [
        'with a thousand aliases of a costly field',
        `{ ${Array.from({ length: 1000 }, (_, n) => `a${n}: shots(first: 500) { totalCount }`).join(' ')} }`,
        'token',
      ],
      [
        'with aliases of a costly field',
        `{ ${Array.from({ length: 40 }, (_, n) => `a${n}: shots(first: 500) { totalCount }`).join(' ')} }`,
        'costs',
      ],
      ['wider than the limit', `{ ${'labs { slug } '.repeat(2000)} }`, 'token'],
      [
        'with fragments in a circle',
        '{ labs { ...a } } fragment a on Lab { ...b } fragment b on Lab { ...a }',
        'fragment',
      ],
      ['of many nested fragments', nested(1500), 'token'],
    ];
    it.each(cases)('%s', async (_title, query, word) => {
      const answer = await ask(query);
      expect(answer.json.data).toBeUndefined();
      expect(answer.text.toLowerCase()).toContain(word);
    });

    it('with a page that is too large by its variables', async () => {
      const answer = await ask('query ($n: Int!) { shots(first: $n) { nodes { derivation { steps { title } } } } }', {
        n: 500,
      });
      expect(answer.json.errors[0].extensions.code).toBe('query-too-costly');
      expect(answer.json.errors[0].extensions.detail).toMatch(/costs \d+; at most 5000/);
    });

    it('with variables of megabytes', async () => {
      const answer = await ask('query ($s: String!) { lab(slug: $s) { slug } }', { s: 'x'.repeat(3_000_000) });
      expect(answer.status).toBe(413);
      expect(answer.json.errors[0].extensions.code).toBe('body-too-large');
    });
  });

  it('introspection as tools send it is within every limit', async () => {
    const { getIntrospectionQuery } = await import('graphql');
    const answer = await ask(getIntrospectionQuery());
    expect(answer.json.data.__schema.queryType.name).toBe('Query');
  });
});
