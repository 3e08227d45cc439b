/** GraphQL and REST give the same answers, whoever asks, and the number of SQL statements follows the shape of a query. */
import { PGlite } from '@electric-sql/pglite';
import pg from 'pg';
import { beforeAll, describe, expect, it, vi } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, type TestRole, validShot } from '../rest/service.ts';

onEachDatabase((open) => {
  let service: Service;
  const graphql = async (role: TestRole, query: string, variables: object = {}) => {
    const answer = await service.ask(role, 'POST', '/graphql', { query, variables });
    if (answer.json.errors !== undefined) throw new Error(answer.text.slice(0, 1000));
    return answer.json.data;
  };

  beforeAll(async () => {
    service = await startService(open());
    const shots = Array.from({ length: 24 }, (_, n) =>
      validShot(
        `S${String(n).padStart(2, '0')}`,
        {
          player: `P${(n % 3) + 1}`,
          sessionDate: n < 12 ? '2026-03-02' : '2026-03-03',
          outcome: { distance: { value: -20 - ((n * n * 7) % 11), unit: 'cm' }, ended: 'atRest' },
          shared: n < 20,
        },
        2 + n * 0.05,
        n % 2 === 0 ? 25 : -15,
      ),
    );
    const sent = await service.ask('lead', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    expect(sent.status, sent.text).toBe(201);
    await service.ask('curator', 'POST', '/v1/datasets', { slug: 'all', title: 'All', licence: 'CC-BY-4.0' });
    const frozen = await service.ask('curator', 'POST', '/v1/datasets/all/releases', { analyses: [] });
    expect(frozen.status, frozen.text).toBe(201);
  });

  describe('the same question has the same answer and the same id', () => {
    it('as a trend', async () => {
      const question = { response: 'outcomeDistance', terms: [[{ variable: 'cueSpeed' }]], labs: 'ignored' };
      const rest = (await service.ask('reader', 'POST', '/v1/analyses/regression', question)).json;
      const { trend } = await graphql(
        'reader',
        `query ($s: RegressionSpecificationInput!) { trend(specification: $s) { id result {
          coefficients { term unit estimate standardError interval { lower upper } sentence }
          curve { points { at estimate lower upper } bins { shots mean response } labLines { lab } }
          provenance { shots dataVersion leftOut { reason shots } } warnings { code text } } } }`,
        { s: question },
      );
      expect(trend.id).toBe(rest.id);
      expect(rest.result).toMatchObject(trend.result);
      expect(trend.result.coefficients).toHaveLength(2);
    });

    it('as a comparison', async () => {
      const question = {
        contrast: { kind: 'sign', variable: 'cueAcceleration' },
        response: 'outcomeDistance',
        match: [{ variable: 'cueSpeed', caliper: 0.2 }],
      };
      const rest = (await service.ask('reader', 'POST', '/v1/analyses/comparison', question)).json;
      const { comparison } = await graphql(
        'reader',
        `query ($s: ComparisonSpecificationInput!) { comparison(specification: $s) { id result {
          sentence verdict pairs { first { label } second { label } } raw { estimate } } } }`,
        { s: question },
      );
      expect(comparison.id).toBe(rest.id);
      expect(rest.result).toMatchObject(comparison.result);
      expect(comparison.result.pairs.length).toBeGreaterThan(3);
    });

    it('as shots with their derivation, revisions and track', async () => {
      const { shots } = await graphql(
        'reader',
        `{ shots(first: 3) { nodes { id label ordinal revision rig { reference content } lab { slug } derived { cueSpeed { value
          standardUncertainty } flags } derivation { steps { title } } revisions { number contentHash }
          cueTrack { unit positions frames } } totalCount pageInfo { hasNextPage } } }`,
      );
      expect(shots.totalCount).toBe(20);
      expect(shots.pageInfo.hasNextPage).toBe(true);
      for (const node of shots.nodes) {
        const shot = (await service.ask('reader', 'GET', `/v1/shots/${node.id}`)).json;
        expect(shot).toMatchObject({ label: node.label, ordinal: node.ordinal, revision: node.revision });
        expect(shot.rig).toBe(node.rig.reference);
        expect(shot.derived).toMatchObject(node.derived);
        const explained = (await service.ask('reader', 'GET', `/v1/shots/${node.id}/derivation`)).json;
        expect(explained).toMatchObject(node.derivation);
        const { revisions } = (await service.ask('reader', 'GET', `/v1/shots/${node.id}/revisions`)).json;
        expect(revisions).toMatchObject(node.revisions);
        const track = (await service.ask('reader', 'GET', `/v1/shots/${node.id}/track`)).json;
        expect(track).toMatchObject({ unit: node.cueTrack.unit, positions: node.cueTrack.positions });
      }
    });

    it('as problems, with the code of REST', async () => {
      const nothing = { response: 'outcomeDistance', terms: [[{ variable: 'ballSpeed' }]] };
      const rest = await service.ask('reader', 'POST', '/v1/analyses/regression', nothing);
      const answer = await service.ask('reader', 'POST', '/graphql', {
        query: 'query ($s: RegressionSpecificationInput!) { trend(specification: $s) { id } }',
        variables: { s: nothing },
      });
      expect(answer.status).toBe(200);
      expect(answer.json.data).toBeNull();
      const { code, detail, status } = answer.json.errors[0].extensions;
      expect({ code, detail, status }).toEqual({
        code: rest.json.code,
        detail: rest.json.detail,
        status: rest.json.status,
      });
    });
  });

  it('pages through all shots in the order asked for, each once', async () => {
    const seen: string[] = [];
    const values: number[] = [];
    for (let after: string | null = null; ; ) {
      const {
        shots,
      }: {
        shots: {
          nodes: { label: string; derived: { cueSpeed: { value: number } } }[];
          pageInfo: { endCursor: string; hasNextPage: boolean };
        };
      } = await graphql(
        'lead',
        `query ($after: String) { shots(first: 7, after: $after, order: { by: cueSpeed, descending: true }) {
            nodes { label derived { cueSpeed { value } } } pageInfo { endCursor hasNextPage } } }`,
        { after },
      );
      seen.push(...shots.nodes.map(({ label }) => label));
      values.push(...shots.nodes.map(({ derived }) => derived.cueSpeed.value));
      if (!shots.pageInfo.hasNextPage) break;
      after = shots.pageInfo.endCursor;
    }
    expect(new Set(seen).size).toBe(24);
    expect(seen).toHaveLength(24);
    expect(values).toEqual([...values].sort((first, second) => second - first));
  });

  it('finds shots by range, player, day and flag', async () => {
    const { shots } = await graphql(
      'reader',
      `{ shots(filter: { players: ["P1"], from: "2026-03-03", ranges: [{ variable: cueSpeed, min: 2.5 }] }) {
        nodes { player sessionDate derived { cueSpeed { value } } } } }`,
    );
    expect(shots.nodes.length).toBeGreaterThan(0);
    for (const { player, sessionDate, derived } of shots.nodes) {
      expect([player, sessionDate]).toEqual(['P1', '2026-03-03']);
      expect(derived.cueSpeed.value).toBeGreaterThanOrEqual(2.5);
    }
  });

  it('counts in every cell what the shots add up to', async () => {
    const { scatter } = await graphql(
      'reader',
      '{ scatter(x: cueSpeed, y: outcomeDistance, columns: 5, rows: 4) { shots cells { shots row column xFrom xTo xMean } } }',
    );
    expect(scatter.shots).toBe(20);
    expect(scatter.cells.reduce((sum: number, { shots }: { shots: number }) => sum + shots, 0)).toBe(20);
    for (const { xFrom, xTo, xMean } of scatter.cells) {
      expect(xMean).toBeGreaterThanOrEqual(xFrom - 1e-12);
      expect(xMean).toBeLessThanOrEqual(xTo + 1e-12);
    }
  });

  it('thins a track for drawing and keeps its ends and extremes', async () => {
    const { shots } = await graphql(
      'reader',
      '{ shots(first: 1) { nodes { whole: cueTrack { positions } few: cueTrack(points: 20) { positions pointsSent frames } } } }',
    );
    const [{ whole, few }] = shots.nodes;
    expect(few.positions.length).toBeLessThanOrEqual(20);
    expect(few.pointsSent).toBe(whole.positions.length);
    expect([few.positions[0], few.positions.at(-1)]).toEqual([whole.positions[0], whole.positions.at(-1)]);
    expect(Math.max(...few.positions)).toBe(Math.max(...whole.positions));
    expect(Math.min(...few.positions)).toBe(Math.min(...whole.positions));
    expect(few.frames).toHaveLength(few.positions.length);
  });

  it('shows unshared shots to their lab only', async () => {
    const query =
      '{ shots(first: 100) { totalCount nodes { id shared } } labs { shotCount players { shots } recordingDays { shots } } }';
    const [own, others] = [await graphql('lead', query), await graphql('reader', query)];
    expect([own.shots.totalCount, others.shots.totalCount]).toEqual([24, 20]);
    expect([own.labs[0].shotCount, others.labs[0].shotCount]).toEqual([24, 20]);
    const hidden = own.shots.nodes.find(({ shared }: { shared: boolean }) => !shared).id;
    const one = 'query ($id: ID!) { shot(id: $id) { label } }';
    expect((await graphql('lead', one, { id: hidden })).shot).not.toBeNull();
    for (const role of ['reader', 'curator'] as const) {
      expect((await graphql(role, one, { id: hidden })).shot).toBeNull();
    }
  });

  it('needs as many SQL statements for one row as for twenty', async () => {
    const count = async (first: number) => {
      const spies = [vi.spyOn(pg.Client.prototype, 'query'), vi.spyOn(PGlite.prototype, 'query')];
      await graphql(
        'reader',
        `query ($first: Int!) { labs { rigs { name } players { code } } datasets { releases { digest } } shots(first: $first) {
          nodes { lab { title tables { name } } rig { version } cue { name } table { name } derived { methodVersion } revision
          derivation { steps { title } } revisions { number } cueTrack { unit } ballTrack { unit } } } }`,
        { first },
      );
      const calls = spies.flatMap((spy) => spy.mock.calls.map(([statement]) => JSON.stringify(statement) ?? ''));
      for (const spy of spies) spy.mockRestore();
      // Connections are set up and kept alive beside.
      return calls.filter((statement) => /\bfrom\b/i.test(statement));
    };
    // The first asks once for what is then kept, such as the versions of labs.
    await count(1);
    const one = await count(1);
    expect(one.length).toBeGreaterThan(10);
    expect((await count(20)).length).toBe(one.length);
  });
});
