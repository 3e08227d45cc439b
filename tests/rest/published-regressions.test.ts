/**
 * Public data sets through the whole service: uploaded as shots of labs, asked over HTTP, compared with printed values.
 * Values are mapped affinely into the range of variables that are not recomputed; slopes, variances and intercepts map back.
 */
import { beforeAll, expect, it } from 'vitest';
import { expectRelative } from '../harness/expect-relative.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import mixed from '../published/fixtures/mixed-models.json' with { type: 'json' };
import nist from '../published/fixtures/nist.json' with { type: 'json' };
import { type Answer, type Service, startService } from './service.ts';

/** Agreement asked for. lme4 itself stops short of it in variances: those of balanced data come from mean squares. */
const agreement = 1e-8;
const throughTracks = 1e-6;

/** value = offset + scale * mapped */
interface Affine {
  readonly offset: number;
  readonly scale: number;
}

/** Into [low, high]. */
function mapping(values: readonly number[], low: number, high: number): Affine {
  const [min, max] = [Math.min(...values), Math.max(...values)];
  const scale = (max - min) / (high - low);
  return { offset: min - low * scale, scale };
}

interface Row {
  readonly lab: string;
  readonly x: number;
  readonly y: number;
  readonly sessionDate?: string;
}

const anscombeX = [10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5];
const anscombe = [
  { x: anscombeX, y: [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68] },
  { x: anscombeX, y: [9.14, 8.14, 8.74, 8.77, 9.26, 8.1, 6.13, 3.1, 9.13, 7.26, 4.74] },
  { x: anscombeX, y: [7.46, 6.77, 12.74, 7.11, 7.81, 8.84, 6.08, 5.39, 8.15, 6.42, 5.73] },
  {
    x: [8, 8, 8, 8, 8, 8, 8, 19, 8, 8, 8],
    y: [6.58, 5.76, 7.71, 8.84, 8.47, 7.04, 5.25, 12.5, 5.56, 7.91, 6.89],
  },
].flatMap(({ x, y }, set) => x.map((at, row): Row => ({ lab: `anscombe-${set + 1}`, x: at, y: y[row] as number })));
const norris = nist.sets.Norris.y.map(
  (y, row): Row => ({ lab: 'norris', x: nist.sets.Norris.x[0]?.[row] as number, y }),
);
const ofLab = (name: string, lab: number) => `${name}-${String(lab).padStart(2, '0')}`;
const { Dyestuff, sleepstudy, Pastes } = mixed.sets;
const dyestuff = Dyestuff.columns.y.map(
  (y, row): Row => ({ lab: ofLab('dyestuff', Dyestuff.groups.lab[row] as number), x: row, y }),
);
const sleep = sleepstudy.columns.y.map(
  (y, row): Row => ({
    lab: ofLab('sleep', sleepstudy.groups.lab[row] as number),
    x: sleepstudy.columns.x[row] as number,
    y,
  }),
);
const pastes = Pastes.columns.y.map(
  (y, row): Row => ({
    lab: ofLab('pastes', Pastes.groups.lab[row] as number),
    x: row,
    y,
    sessionDate: `2026-04-${String(Pastes.groups.session[row] as number).padStart(2, '0')}`,
  }),
);

const sets = { anscombe, norris, dyestuff, sleep, pastes };
const maps = Object.fromEntries(
  Object.entries(sets).map(([name, rows]) => [
    name,
    {
      x: mapping(
        rows.map(({ x }) => x),
        0.2,
        1.8,
      ),
      y: mapping(
        rows.map(({ y }) => y),
        -1.5,
        1.5,
      ),
    },
  ]),
) as Record<keyof typeof sets, { x: Affine; y: Affine }>;

const mapped = (value: number, { offset, scale }: Affine) => (value - offset) / scale;

/** Mean square of the values about their mean in each class, with the given degrees of freedom. */
function meanSquare(values: readonly number[], classes: readonly unknown[], degrees: number): number {
  let sum = 0;
  for (const name of new Set(classes)) {
    const own = values.filter((_, row) => classes[row] === name);
    const mean = own.reduce((total, value) => total + value, 0) / own.length;
    sum += own.reduce((total, value) => total + (value - mean) ** 2, 0);
  }
  return sum / degrees;
}

/** Mean of the values in each class, in the order of first appearance. */
function classMeans(values: readonly number[], classes: readonly unknown[]): number[] {
  return [...new Set(classes)].map((name) => {
    const own = values.filter((_, row) => classes[row] === name);
    return own.reduce((total, value) => total + value, 0) / own.length;
  });
}

async function upload({ ask }: Service, rows: readonly Row[], { x, y }: { x: Affine; y: Affine }): Promise<void> {
  for (const lab of new Set(rows.map((row) => row.lab))) {
    const made = await ask('curator', 'POST', '/v1/labs', {
      slug: lab,
      title: lab,
      dataLicence: 'CC0-1.0',
      consentReference: 'public data',
    });
    expect(made.status, made.text).toBe(201);
    const { token } = (await ask('curator', 'POST', `/v1/labs/${lab}/tokens`, { role: 'lead', note: 'test' })).json;
    const rig = await ask({ token }, 'POST', `/v1/labs/${lab}/rigs`, { name: 'main', content: fixedOrder });
    expect(rig.status, rig.text).toBe(201);
    const own = rows.filter((row) => row.lab === lab);
    const lines = own.map((row, place) =>
      JSON.stringify({
        label: `row ${place}`,
        rig: 'main',
        ...(row.sessionDate === undefined ? {} : { sessionDate: row.sessionDate }),
        objectBallDistance: { value: mapped(row.x, x), unit: 'm' },
        outcome: { distance: { value: mapped(row.y, y), unit: 'm' }, ended: 'atRest' },
        shared: true,
      }),
    );
    const sent = await ask({ token }, 'POST', `/v1/labs/${lab}/submissions`, lines.join('\n'), 'application/x-ndjson');
    expect(sent.status, sent.text).toBe(201);
  }
}

/** The rig fixes order 2, as a lab that knows its strokes would. */
const fixedOrder = {
  captureRate: { value: 2000, unit: 'frames/s' },
  playbackRate: { value: 30, unit: 'frames/s' },
  trimMeaning: 'undecided',
  fit: { order: 2 },
};

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
    for (const [name, rows] of Object.entries(sets)) await upload(service, rows, maps[name as keyof typeof sets]);
  }, 120_000);

  const ask = async (set: keyof typeof sets, question: object): Promise<Answer['json']> => {
    const values = [...new Set(sets[set].map(({ lab }) => lab))];
    const answer = await service.ask('reader', 'POST', '/v1/analyses/regression', {
      response: 'outcomeDistance',
      terms: [[{ variable: 'objectBallDistance' }]],
      filter: { includeReported: true, groups: [{ grouping: 'lab', values }] },
      ...question,
    });
    expect(answer.status, answer.text).toBe(200);
    return answer.json;
  };
  /** Slope and intercept in the units of the data set. */
  const slopeOf = (set: keyof typeof sets, slope: number) => (slope * maps[set].y.scale) / maps[set].x.scale;
  const interceptOf = (set: keyof typeof sets, intercept: number, slope: number) =>
    maps[set].y.offset + maps[set].y.scale * intercept - slopeOf(set, slope) * maps[set].x.offset;

  it('Anscombe (1973): four labs with one line each, 3.0 + 0.5 x, R2 .67, of which only the lab lines are alike', async () => {
    const { result } = await ask('anscombe', {});
    for (const { coefficients } of result.labs) {
      expect(Math.abs(slopeOf('anscombe', coefficients[0].estimate) - 0.5)).toBeLessThan(0.005);
      // Standard error .118 in all four.
      expect(Math.abs(slopeOf('anscombe', coefficients[0].standardError) - 0.118)).toBeLessThan(0.0005);
    }
    const first = result.labs[0].coefficients[0];
    // R 4.2.2: lm of set I, .5000909.
    expectRelative(slopeOf('anscombe', first.estimate), 0.5000909090909091, agreement);
    // The pooled slope within labs is the mean, weighted alike; all four have the same spread of x.
    const mean =
      result.labs.reduce((sum: number, lab: (typeof result.labs)[number]) => sum + lab.coefficients[0].estimate, 0) / 4;
    expectRelative(result.coefficients[0].estimate, mean, agreement);
    expect(Math.abs(result.determination - 0.667)).toBeLessThan(0.0006);
  });

  it('Norris (NIST): intercept, slope, standard errors and residual standard deviation as certified', async () => {
    const { result } = await ask('norris', { labs: 'ignored', standardErrors: 'classical' });
    const [intercept, slope] = result.coefficients;
    const certified = nist.sets.Norris;
    expectRelative(slopeOf('norris', slope.estimate), certified.coefficients[1] as number, agreement);
    expectRelative(
      interceptOf('norris', intercept.estimate, slope.estimate),
      certified.coefficients[0] as number,
      agreement,
    );
    expectRelative(slopeOf('norris', slope.standardError), certified.standardErrors[1] as number, agreement);
    expectRelative(
      result.residualStandardDeviation * maps.norris.y.scale,
      certified.residualStandardDeviation,
      agreement,
    );
    expectRelative(result.determination, certified.determination, agreement);
  });

  it('Dyestuff: mean 1527.5 with standard error 19.38, batch 42.00 and residual 49.51', async () => {
    const { result } = await ask('dyestuff', { terms: [], labs: 'randomIntercept' });
    const { offset, scale } = maps.dyestuff.y;
    const [mean] = result.coefficients;
    expectRelative(offset + scale * mean.estimate, 1527.5, agreement);
    // Balanced data: standard error sqrt(MSB / 30), variance (MSB - MSW) / 5, exactly.
    expectRelative(scale * mean.standardError, Math.sqrt((5 * 1764.05 + 2451.25) / 30), agreement);
    const deviations = result.varianceComponents.components.map(
      (each: { standardDeviation: number }) => scale * each.standardDeviation,
    );
    expectRelative(deviations[0], Math.sqrt(2451.25), agreement);
    expectRelative(deviations[1], 42, 1e-4);
    expectRelative(deviations[1], Math.sqrt(1764.05), agreement);
  });

  it('sleepstudy: 251.4051 + 10.46729 Days, subjects 37.12, residual 30.99', async () => {
    const { result } = await ask('sleep', { labs: 'randomIntercept' });
    const [intercept, slope] = result.coefficients;
    const { reference } = sleepstudy;
    expectRelative(slopeOf('sleep', slope.estimate), reference.coefficients[1] as number, agreement);
    expectRelative(
      interceptOf('sleep', intercept.estimate, slope.estimate),
      reference.coefficients[0] as number,
      agreement,
    );
    expectRelative(slopeOf('sleep', slope.standardError), reference.standardErrors[1] as number, agreement);
    expectRelative(slope.degreesOfFreedom, 161, agreement);
    const deviations = result.varianceComponents.components.map(
      (each: { standardDeviation: number }) => maps.sleep.y.scale * each.standardDeviation,
    );
    // Ten days a subject: residual mean square on 161 degrees of freedom, and (mean square of subjects - it) / 10.
    const line = (row: Row) => row.y - (reference.coefficients[1] as number) * row.x;
    const subjects = sleep.map(({ lab }) => lab);
    const residual = meanSquare(sleep.map(line), subjects, 161);
    const between =
      10 *
      meanSquare(
        classMeans(
          sleep.map(({ y }) => y),
          subjects,
        ),
        Array.from({ length: 18 }, () => 0),
        17,
      );
    expectRelative(deviations[0], Math.sqrt(residual), agreement);
    expectRelative(deviations[1], Math.sqrt((between - residual) / 10), agreement);
    expect(Math.abs(deviations[0] - 30.991234)).toBeLessThan(5.1e-7);
    expect(Math.abs(deviations[1] - 37.123827)).toBeLessThan(5.1e-7);
    expect(result.warnings.map(({ code }: { code: string }) => code)).toContain('SLOPES_DIFFER');
  });

  it('Pastes: casks as sessions of batches, 2.904, 1.287 and 0.823', async () => {
    const { result } = await ask('pastes', { terms: [], labs: 'sessionsInLabs' });
    const { scale } = maps.pastes.y;
    const variance = (name: string) =>
      result.varianceComponents.components.find((each: { component: string }) => each.component === name)
        .standardDeviation **
        2 *
      scale *
      scale;
    // Two assays a cask, three casks a batch.
    const values = pastes.map(({ y }) => y);
    const casks = pastes.map(({ sessionDate }) => sessionDate);
    const batches = [...new Set(casks)].map((cask) => pastes.find(({ sessionDate }) => sessionDate === cask)?.lab);
    const assay = meanSquare(values, casks, 30);
    const cask = 2 * meanSquare(classMeans(values, casks), batches, 20);
    const batch =
      6 *
      meanSquare(
        classMeans(
          values,
          pastes.map(({ lab }) => lab),
        ),
        Array.from({ length: 10 }, () => 0),
        9,
      );
    expectRelative(variance('residual'), assay, agreement);
    expectRelative(variance('session'), (cask - assay) / 2, agreement);
    expectRelative(variance('lab'), (batch - cask) / 6, agreement);
    for (const [name, printed] of [
      ['session', 8.434],
      ['lab', 1.657],
      ['residual', 0.678],
    ] as const) {
      expect(Math.abs(variance(name) - printed)).toBeLessThan(5.1e-4);
    }
  });

  it('Norris through tracks: cue speed against cue acceleration, both recomputed from what was filmed', async () => {
    const { ask: send } = service;
    await send('curator', 'POST', '/v1/labs', {
      slug: 'filmed',
      title: 'x',
      dataLicence: 'CC0-1.0',
      consentReference: 'x',
    });
    const { token } = (await send('curator', 'POST', '/v1/labs/filmed/tokens', { role: 'lead', note: 'x' })).json;
    await send({ token }, 'POST', '/v1/labs/filmed/rigs', { name: 'main', content: fixedOrder });
    const [a, v] = [
      mapping(
        norris.map(({ x }) => x),
        -30,
        30,
      ),
      mapping(
        norris.map(({ y }) => y),
        2,
        5,
      ),
    ];
    const closedFrame = 100;
    const shots = norris.map(({ x, y }, place) => ({
      label: `row ${place}`,
      rig: 'main',
      shared: true,
      contact: { closedFrame, openFrame: closedFrame + 3 },
      cueTrack: {
        unit: 'm',
        firstFrame: 0,
        positions: Array.from({ length: closedFrame + 6 }, (_, frame) => {
          // First contact lies in the middle of the last frame interval before the gap looks closed.
          const t = (frame - closedFrame + 0.5) / 2000;
          return mapped(y, v) * t + (mapped(x, a) * t * t) / 2 + (t > 0 ? -0.3 * mapped(y, v) * t : 0);
        }),
      },
    }));
    const sent = await send({ token }, 'POST', '/v1/labs/filmed/submissions', { shots });
    expect(sent.status, sent.text).toBe(201);
    const answer = await send('reader', 'POST', '/v1/analyses/regression', {
      response: 'cueSpeed',
      terms: [[{ variable: 'cueAcceleration' }]],
      labs: 'ignored',
      standardErrors: 'classical',
      filter: { groups: [{ grouping: 'lab', values: ['filmed'] }] },
    });
    expect(answer.status, answer.text).toBe(200);
    const [intercept, slope] = answer.json.result.coefficients;
    const certified = nist.sets.Norris;
    expect(answer.json.result.provenance.shots).toBe(36);
    expectRelative((slope.estimate * v.scale) / a.scale, certified.coefficients[1] as number, throughTracks);
    // The certified error is that of the scatter; the rig's scale and clock are uncertain besides.
    expectRelative((slope.statisticalError * v.scale) / a.scale, certified.standardErrors[1] as number, throughTracks);
    expect(slope.commonError).toBeGreaterThan(0);
    expectRelative(slope.standardError, Math.hypot(slope.statisticalError, slope.commonError), throughTracks);
    const level = v.offset + v.scale * intercept.estimate - ((slope.estimate * v.scale) / a.scale) * a.offset;
    // The intercept is a small difference of large numbers: judged against the range of the response.
    expect(Math.abs(level - (certified.coefficients[0] as number))).toBeLessThan(throughTracks * 1000);
  });

  it('the answer is a permanent link, as JSON, as a table and as two drawings', async () => {
    const { id, result } = await ask('sleep', {});
    const link = `/v1/analyses/${id}`;
    expect((await service.ask('reader', 'GET', link)).json).toEqual({ id, result });
    const table = await service.app.inject({
      url: link,
      headers: { authorization: `Bearer ${service.tokens.reader}`, accept: 'text/csv' },
    });
    expect(table.headers['content-type']).toContain('text/csv');
    const lines = table.body.trim().split('\n');
    expect(lines[0]).toBe(
      'section,term,label,at,estimate,standard_error,degrees_of_freedom,lower,upper,p_value,unit,shots,weight,statistical_error,common_error',
    );
    const coefficient = lines.find((line) => line.startsWith('coefficient,objectBallDistance')) as string;
    expect(Number(coefficient.split(',')[4])).toBe(result.coefficients[0].estimate);
    expect(lines.filter((line) => line.startsWith('lab,'))).toHaveLength(18);
    expect(lines.filter((line) => line.startsWith('curve,'))).toHaveLength(41);
    for (const kind of ['trend', 'forest']) {
      const drawn = await service.ask('reader', 'GET', `${link}/figure.svg?kind=${kind}`);
      expect(drawn.status).toBe(200);
      expect(drawn.headers['content-type']).toContain('image/svg+xml');
      expect(drawn.text).toMatch(/^<svg [^>]*role="img"/);
      expect(drawn.text).toContain('sleep-07');
      expect(drawn.text).not.toMatch(/NaN|undefined/);
      expect((await service.ask('reader', 'GET', `${link}/figure.svg?kind=${kind}`)).text).toBe(drawn.text);
    }
    const mean = await ask('dyestuff', { terms: [], labs: 'randomIntercept' });
    expect((await service.ask('reader', 'GET', `/v1/analyses/${mean.id}/figure.svg`)).status).toBe(404);
  });

  it('the common cases are links: the same question has the same id whichever way it is asked', async () => {
    const posted = await service.ask('reader', 'POST', '/v1/analyses/regression', {
      response: 'cueSpeed',
      terms: [[{ variable: 'cueAcceleration' }]],
      clusterBy: 'rig',
      labs: 'ignored',
    });
    const asked = await service.ask(
      'reader',
      'GET',
      '/v1/regression?response=cueSpeed&terms=cueAcceleration&labs=ignored&clusterBy=rig',
    );
    expect(asked.status, asked.text).toBe(posted.status);
    expect(asked.json.id).toBe(posted.json.id);
  });
});
