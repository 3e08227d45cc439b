/** Shots and tracks as two tables in one upload, in any order, joined without holding them in memory. */
import { mkdtempSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Fault } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { CueTrack } from '../../shared/shot.ts';
import { intakeLimits } from '../../src/intake/limits.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import type { PreparedShot } from '../../src/intake/prepared-shot.ts';
import { frameParts } from '../../src/intake/read/frame-parts.ts';
import { readShots } from '../../src/intake/read/read-shots.ts';
import { ExternalSort } from '../../src/intake/sort/external-sort.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from '../rest/service.ts';
import { chunked, closedFrame, goodShot, inventedBook, positions } from './invented.ts';

const boundary = 'x-boundary-7';
const contentType = `multipart/form-data; boundary=${boundary}`;

function body(parts: readonly (readonly [name: string, text: string])[]): string {
  const written = parts.map(
    ([name, text]) =>
      `--${boundary}\r\nContent-Disposition: form-data; name="${name}"; filename="${name}.csv"\r\nContent-Type: text/csv\r\n\r\n${text}\r\n`,
  );
  return `${written.join('')}--${boundary}--\r\n`;
}

/** One row a point, label by label or mixed. */
function trackRows(labels: readonly string[], mixed = false): string[] {
  const rows = labels.flatMap((label, shot) =>
    positions(shot + 1, 190).map((position, index) => ({ index, row: `${label},cue,${10 + index},${position}` })),
  );
  if (mixed) rows.sort((one, other) => one.index - other.index);
  return rows.map(({ row }) => row);
}
const trackHeader = 'label,kind,frame,position[mm]';
const tracksCsv = (rows: readonly string[]) => `${trackHeader}\n${rows.join('\n')}\n`;
const shotsCsv = (labels: readonly string[], header = '', cells = '') =>
  `label,rig,contact_closed_frame,contact_open_frame${header}\n${labels.map((label) => `${label},main,${closedFrame},204${cells}`).join('\n')}\n`;

const directory = mkdtempSync(join(tmpdir(), 'shot-commons-multipart-'));

async function prepare(text: string, size = 1000): Promise<PreparedShot[]> {
  const prepared: PreparedShot[] = [];
  const framed = frameParts(chunked(text, size), contentType);
  for await (const sent of readShots('multipart', framed, intakeLimits(directory))) {
    prepared.push(prepareShot(parseSentShot(sent), inventedBook(), null));
  }
  return prepared;
}
const places = (faults: readonly Fault[]) => faults.map(({ code, part, row, column }) => [code, part, row, column]);

describe('a body of two tables', () => {
  it('gives each shot its track, whatever the order of parts and rows and however it is cut', async () => {
    const labels = ['b', 'a', 'c'];
    const expected = labels.map((label, index) => {
      const { cueTrack, contact } = goodShot(label);
      const track = { ...(cueTrack as CueTrack), positions: positions(index + 1, 190) };
      const shot = { label, rig: 'main', contact: { ...contact, trimmedStart: 0 }, cueTrack: track };
      const sent = { position: 1, row: null, columns: null, value: shot, faults: [] };
      return prepareShot(parseSentShot(sent), inventedBook(), null).ready?.contentHash;
    });
    for (const mixed of [false, true]) {
      for (const size of [97, 100_000]) {
        const parts = [
          ['tracks', tracksCsv(trackRows(labels, mixed))],
          ['shots', shotsCsv(labels)],
        ] as const;
        for (const order of [parts, [...parts].reverse()]) {
          const shots = await prepare(body(order), size);
          expect(shots.map(({ faults }) => faults)).toEqual([[], [], []]);
          expect(shots.map(({ label }) => label)).toEqual(labels);
          expect(shots.map(({ ready }) => ready?.contentHash)).toEqual(expected);
        }
      }
    }
    expect(readdirSync(directory)).toEqual([]);
  });
  it('leaves a shot without track as reported, and takes ball tracks in another unit from a table of their own', async () => {
    const ball = 'label;kind;time[ms];position[px]\na;ball;0;0,5\na;ball;10;40,25\na;ball;20;79,5\n';
    const shots = shotsCsv(['a', 'plain'], ',ball_capture_rate[fps],ball_scale[mm/px]', ',100,1.5').replace(
      /(plain.*),100,1.5/,
      '$1,,',
    );
    const [one, two] = await prepare(
      body([
        ['tracks', ball],
        ['shots', shots],
        ['tracks', tracksCsv(trackRows(['a']))],
      ]),
    );
    expect(one?.faults).toEqual([]);
    expect(one?.ready?.ballTrack).toMatchObject({ unit: 'px', points: 3, timeUnit: 'ms' });
    expect(one?.ready?.derived?.source).toBe('track');
    expect(two?.faults).toEqual([]);
    expect(two?.ready?.derived?.source).toBe('reported');
  });
  it('names the row and column of what is wrong, in the table where it stands', async () => {
    const wrong = async (change: (rows: string[]) => void) => {
      const rows = trackRows(['a', 'b']);
      change(rows);
      return (
        await prepare(
          body([
            ['shots', shotsCsv(['a', 'b'])],
            ['tracks', tracksCsv(rows)],
          ]),
        )
      ).map(({ faults }) => places(faults));
    };
    expect(await wrong((rows) => rows.splice(200, 1, 'b,cue,20,far'))).toEqual([
      [],
      [['structure-invalid', 'tracks', 202, 'position[mm]']],
    ]);
    expect(await wrong((rows) => rows.splice(200, 1, 'b,cue,20,'))).toEqual([
      [],
      [['structure-invalid', 'tracks', 202, 'position[mm]']],
    ]);
    expect(await wrong((rows) => rows.splice(5, 1, 'a,cue,,1'))).toEqual([
      [['structure-invalid', 'tracks', 7, 'frame']],
      [],
    ]);
    expect(await wrong((rows) => rows.splice(5, 1, 'a,cue,14,1'))).toEqual([
      [['frames-not-increasing', 'tracks', 7, 'frame']],
      [],
    ]);
    expect(await wrong((rows) => rows.splice(7, 1, 'a,hand,17,1'))).toEqual([
      [['structure-invalid', 'tracks', 9, 'kind']],
      [],
    ]);
    expect(await wrong((rows) => rows.splice(3, 1, 'a,cue,13,1e12'))).toEqual([
      [['limit-exceeded', 'tracks', 5, 'position[mm]']],
      [],
    ]);
    expect(await wrong((rows) => rows.push('zz,cue,1,1', ',ball,2,2'))).toEqual([
      [],
      [],
      [['track-without-shot', 'tracks', 383, null]],
      [['track-without-shot', 'tracks', 382, null]],
    ]);
  });
  it('says which shot names a track that is missing', async () => {
    const shots = shotsCsv(['a', 'b'], ',tracks,ball_scale[mm/px]', ',cue ball,1.5');
    const prepared = await prepare(
      body([
        ['shots', shots],
        ['tracks', tracksCsv(trackRows(['a']))],
      ]),
    );
    expect(prepared.map(({ faults }) => places(faults))).toEqual([
      [
        ['track-missing', 'shots', 2, 'tracks'],
        ['track-missing', 'shots', 2, 'ball_scale[mm/px]'],
      ],
      [
        ['track-missing', 'shots', 3, 'tracks'],
        ['track-missing', 'shots', 3, 'tracks'],
        ['track-missing', 'shots', 3, 'ball_scale[mm/px]'],
      ],
    ]);
  });
  it.each([
    ['without shots', [['tracks', tracksCsv(trackRows(['a']))]], 'request-invalid'],
    [
      'with shots twice',
      [
        ['shots', shotsCsv(['a'])],
        ['shots', shotsCsv(['b'])],
      ],
      'request-invalid',
    ],
    [
      'with a part of another name',
      [
        ['shots', shotsCsv(['a'])],
        ['film', 'x'],
      ],
      'request-invalid',
    ],
    [
      'with tracks that have no label',
      [
        ['shots', shotsCsv(['a'])],
        ['tracks', 'frame,position[mm]\n1,2\n'],
      ],
      'request-invalid',
    ],
    [
      'with gaps in another unit',
      [
        ['shots', shotsCsv(['a'])],
        ['tracks', 'label,frame,position[mm],gap[px]\n'],
      ],
      'request-invalid',
    ],
    [
      'with a quote never closed',
      [
        ['shots', shotsCsv(['a'])],
        ['tracks', `${trackHeader}\n"a`],
      ],
      'malformed-body',
    ],
  ] as const)('%s is refused as a whole', async (_, parts, code) => {
    await expect(prepare(body(parts))).rejects.toMatchObject({ code });
    expect(readdirSync(directory)).toEqual([]);
  });
  it('that breaks off is refused, or throws what broke it, and leaves nothing', async () => {
    const whole = body([
      ['shots', shotsCsv(['a'])],
      ['tracks', tracksCsv(trackRows(['a']))],
    ]);
    await expect(prepare(whole.slice(0, -200))).rejects.toBeInstanceOf(Refusal);
    async function* broken() {
      yield new TextEncoder().encode(whole.slice(0, 900));
      throw new Error('connection reset');
    }
    const reading = async () => {
      for await (const _shot of readShots('multipart', frameParts(broken(), contentType), intakeLimits(directory)));
    };
    await expect(reading()).rejects.toThrow('connection reset');
    expect(readdirSync(directory)).toEqual([]);
  });
  it('is the same bytes under another boundary and in other pieces, so that a repeat is known as one', async () => {
    const parts = [
      ['shots', shotsCsv(['a'])],
      ['tracks', tracksCsv(trackRows(['a', 'b']))],
    ] as const;
    const framed = async (text: string, type: string, size: number) => {
      const chunks: Uint8Array[] = [];
      for await (const chunk of frameParts(chunked(text, size), type)) chunks.push(chunk);
      return Buffer.concat(chunks);
    };
    const one = await framed(body(parts), contentType, 11);
    const other = await framed(
      body(parts).replaceAll(boundary, 'another'),
      'multipart/form-data; boundary=another',
      5000,
    );
    expect(one.equals(other)).toBe(true);
  });
});

describe('the external sort', () => {
  it('is a stable sort, however small its memory', async () => {
    const limits = { runBytes: 1000, fanIn: 2, readBytes: 64 };
    await fc.assert(
      fc.asyncProperty(fc.array(fc.string({ maxLength: 3 }), { maxLength: 60 }), async (keys) => {
        const sort = await ExternalSort.create(directory, limits);
        for (const [index, key] of keys.entries()) await sort.add(Buffer.from(key), Buffer.from(`${index}`));
        const sorted: string[] = [];
        for await (const { key, value } of sort.sorted()) sorted.push(`${key.toString()}:${value.toString()}`);
        await sort.remove();
        const expected = keys
          .map((key, index) => ({ key: Buffer.from(key), index }))
          .sort((one, other) => Buffer.compare(one.key, other.key))
          .map(({ key, index }) => `${key.toString()}:${index}`);
        expect(sorted).toEqual(expected);
      }),
      { seed: 20_260_303, numRuns: 30 },
    );
    expect(readdirSync(directory)).toEqual([]);
  });
});

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
  });
  afterAll(() => service.app.close());

  it('is taken over HTTP', async () => {
    const { cueTrack, contact } = validShot('m-1');
    const track = cueTrack as CueTrack;
    const rows = track.positions.map((position, frame) => `m-1,cue,${frame},${position}`);
    const shots = `label,rig,contact_closed_frame,contact_open_frame\nm-1,main,${contact?.closedFrame},${contact?.openFrame}\n`;
    const text = body([
      ['tracks', tracksCsv(rows)],
      ['shots', shots],
    ]);
    const answer = await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, text, contentType);
    expect(answer.status, answer.text).toBe(201);
    expect(answer.json.counts).toMatchObject({ created: 1 });
    const { shots: stored } = (await service.ask('contributor', 'GET', `/v1/shots?lab=${lab}`)).json;
    const served = await service.ask('contributor', 'GET', `/v1/shots/${stored[0].id}/track`);
    expect(served.json.positions).toEqual(track.positions);

    const orphan = body([
      ['tracks', tracksCsv(['other,cue,1,2'])],
      ['shots', shots],
    ]);
    const refused = await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, orphan, contentType);
    expect(refused.status).toBe(422);
    expect(refused.json.receipt.rejected.flatMap(({ faults }: { faults: Fault[] }) => places(faults))).toContainEqual([
      'track-without-shot',
      'tracks',
      2,
      null,
    ]);
  });
});
