/** The coverage map and the overlay over HTTP: numbers, table, drawing; and what a caller may see of them. */
import { parse } from 'csv-parse/sync';
import type { InjectOptions } from 'fastify';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

/** Cue ball filmed at 240 frames/s: 1.2 m/s to the object ball at frame 120, then back at 0.5 m/s until it rests. */
function ballTrack() {
  const rate = 240;
  const impact = 120;
  const positions = Array.from({ length: 300 }, (_, frame) => {
    const t = (frame - impact) / rate;
    if (t <= 0) return Math.round(1e6 * (0.6 + 1.2 * t)) / 1e3;
    const moving = Math.min(t, 0.5);
    return Math.round(1e6 * (0.6 - 0.5 * moving + 0.5 * moving * moving)) / 1e3;
  });
  return { unit: 'mm', positions, firstFrame: 0, captureRate: { value: rate, unit: 'Hz' }, impactFrame: impact };
}

onEachDatabase((open) => {
  let service: Service;
  let ids: Record<string, string> = {};
  beforeAll(async () => {
    service = await startService(open());
    const shots = [
      validShot('accelerating', { ballTrack: ballTrack() }, 3, 25),
      validShot('slowing', {}, 3.02, -15),
      validShot('spare', {}, 3.05, -15),
      validShot('hidden', { shared: false }, 3.05, 25),
    ];
    const sent = await service.ask('lead', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    expect(sent.status, sent.text).toBe(201);
    const listed = (await service.ask('lead', 'GET', `/v1/shots?lab=${lab}`)).json.shots;
    ids = Object.fromEntries(listed.map(({ id, label }: { id: string; label: string }) => [label, id]));
  });
  afterAll(() => service.app.close());

  const table = async (url: string) => {
    const request: InjectOptions = {
      method: 'GET',
      url,
      headers: { authorization: `Bearer ${service.tokens.reader}`, accept: 'text/csv' },
    };
    const answer = await service.app.inject(request);
    expect(answer.headers['content-type']).toMatch(/^text\/csv/);
    return parse(answer.body, { columns: true }) as Record<string, string>[];
  };

  it('maps shared shots: one pair, one stroke wanted to make another', async () => {
    const { status, json } = await service.ask('reader', 'GET', '/v1/coverage');
    expect(status).toBe(200);
    expect(json.labs).toHaveLength(1);
    expect(json.labs[0]).toMatchObject({ lab, first: 1, second: 2, pairs: 1, firstWanted: 1, secondWanted: 0 });
    expect(json.labs[0].sentence).toContain('1 accelerating strokes would each make one more');
    expect(json.next).toEqual(json.cells.filter((cell: { firstWanted: number }) => cell.firstWanted > 0));
    const rows = await table('/v1/coverage');
    expect(rows.map((row) => [row.lab, row.pairs, row.first_wanted])).toEqual([[lab, '1', '1']]);
    expect(Number(rows[0]?.['cue_speed_from[m/s]'])).toBe(3);
    const own = await service.ask('lead', 'GET', `/v1/coverage?scope=lab:${lab}`);
    expect(own.json.labs[0]).toMatchObject({ first: 2, second: 2, pairs: 2, firstWanted: 0 });
    expect((await service.ask('reader', 'GET', `/v1/coverage?scope=lab:${lab}`)).status).toBe(404);
  });

  it('takes other contrasts and widths, and refuses half a contrast', async () => {
    const wide = await service.ask('reader', 'GET', '/v1/coverage?variable=cueSpeed&at=3.01&cueSpeedStep=5');
    expect(wide.json.contrast).toEqual({ kind: 'threshold', variable: 'cueSpeed', at: 3.01 });
    expect(wide.json.labs[0]).toMatchObject({ first: 2, second: 1, pairs: 1 });
    for (const query of ['grouping=grip', 'grouping=grip&first=a&second=a', 'first=a', 'grouping=grip&at=1']) {
      const answer = await service.ask('reader', 'GET', `/v1/coverage?${query}`);
      expect([answer.status, answer.json.code], query).toEqual([422, 'request-invalid']);
    }
    const grouping = await service.ask('reader', 'GET', '/v1/coverage?grouping=strokeStyle&first=x&second=y');
    expect(grouping.json.cells).toEqual([]);
  });

  it('draws the map, the same each time', async () => {
    const drawn = await service.ask('reader', 'GET', '/v1/coverage/figure.svg');
    expect(drawn.headers['content-type']).toMatch(/^image\/svg\+xml/);
    expect(drawn.text).toContain('▲1');
    expect((await service.ask('reader', 'GET', '/v1/coverage/figure.svg')).text).toBe(drawn.text);
    const none = await service.ask('reader', 'GET', '/v1/coverage/figure.svg?lab=nobody');
    expect(none.status).toBe(404);
  });

  it('lays two shots over each other with contact and impact at zero', async () => {
    const url = `/v1/shots/${ids.accelerating}/overlay/${ids.slowing}`;
    const { status, json, text } = await service.ask('reader', 'GET', url);
    expect(status, text).toBe(200);
    const [first, second] = json.shots;
    for (const shot of [first, second]) {
      const nearest = shot.cue.reduce((best: { time: number }, point: { time: number }) =>
        Math.abs(point.time) < Math.abs(best.time) ? point : best,
      );
      // Half a frame at 3 m/s.
      expect(Math.abs(nearest.position)).toBeLessThan(4e-4);
      expect(shot.cueFit.at(-1).time).toBeCloseTo(0, 9);
      expect(shot.cueFit.at(-1).speed).toBeCloseTo(shot.cueSpeed.value, 1);
    }
    expect(first.ballReason).toBeNull();
    const impact = first.ball.reduce((best: { time: number }, point: { time: number }) =>
      Math.abs(point.time) < Math.abs(best.time) ? point : best,
    );
    expect(Math.abs(impact.time)).toBeLessThan(1 / 240);
    expect(Math.abs(impact.position)).toBeLessThan(0.006);
    expect(second).toMatchObject({ ball: [], ballReason: 'no ball track was sent' });
    const rows = await table(url);
    expect(rows).toHaveLength(
      first.cue.length + first.cueFit.length + first.ball.length + second.cue.length + second.cueFit.length,
    );
    expect(new Set(rows.map(({ series }) => series))).toEqual(new Set(['cue', 'cue_fit', 'ball']));
  });

  it('draws the overlay, and shows none of a shot that may not be seen', async () => {
    const url = `/v1/shots/${ids.accelerating}/overlay/${ids.slowing}/figure.svg`;
    const drawn = await service.ask('reader', 'GET', url);
    expect(drawn.status, drawn.text).toBe(200);
    expect(drawn.text).toContain('● accelerating');
    expect((await service.ask('reader', 'GET', url)).text).toBe(drawn.text);
    for (const [one, other] of [
      ['accelerating', 'hidden'],
      ['hidden', 'accelerating'],
    ]) {
      for (const end of ['', '/figure.svg']) {
        const hidden = `/v1/shots/${ids[one as string]}/overlay/${ids[other as string]}${end}`;
        expect((await service.ask('reader', 'GET', hidden)).status).toBe(404);
        expect((await service.ask('lead', 'GET', hidden)).status).toBe(200);
      }
    }
  });
});
