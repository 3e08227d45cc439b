/** Reading bodies: what arrives in pieces comes out as shots, and what cannot be read says where. */
import { describe, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import type { IntakeLimits } from '../../src/intake/limits.ts';
import { usualPace } from '../../src/intake/read/pace-body.ts';
import { readShots } from '../../src/intake/read/read-shots.ts';
import type { SentShot, SubmissionMedia } from '../../src/intake/read/sent-shot.ts';
import { chunked } from './invented.ts';

const limits: IntakeLimits = {
  uploadBytes: 100_000,
  jsonBytes: 50_000,
  lineBytes: 2_000,
  pace: usualPace,
  spoolDirectory: '',
};

async function read(media: SubmissionMedia, text: string | Uint8Array, size = 7, change: Partial<IntakeLimits> = {}) {
  const shots: SentShot[] = [];
  for await (const shot of readShots(media, chunked(text, size), { ...limits, ...change })) shots.push(shot);
  return shots;
}

async function refusal(media: SubmissionMedia, text: string | Uint8Array, change: Partial<IntakeLimits> = {}) {
  const error: unknown = await read(media, text, 7, change).then(
    () => null,
    (thrown: unknown) => thrown,
  );
  if (!(error instanceof Refusal)) throw new Error('the body was not refused', { cause: error });
  return error;
}

describe('JSON', () => {
  it('holds one shot, or a list of shots', async () => {
    expect((await read('json', '{"label":"a"}')).map(({ value }) => value)).toEqual([{ label: 'a' }]);
    const many = await read('json', '\ufeff{"shots":[{"label":"a"},{"label":"b"}]}');
    expect(many.map(({ position, row, value }) => [position, row, value])).toEqual([
      [1, null, { label: 'a' }],
      [2, null, { label: 'b' }],
    ]);
  });
  it('that is broken, empty or something else is refused as a whole', async () => {
    expect((await refusal('json', '{"label":')).code).toBe('malformed-body');
    expect((await refusal('json', '')).code).toBe('malformed-body');
    expect((await refusal('json', '{"shots":[]}')).code).toBe('request-invalid');
    expect((await refusal('json', '[{"label":"a"}]')).code).toBe('request-invalid');
    expect((await refusal('json', '{"shots":[{}],"more":1}')).faults[0]?.pointer).toBe('/more');
    expect((await refusal('json', '{"shots":{}}')).faults[0]?.pointer).toBe('/shots');
    const long = await refusal('json', `{"label":"${'x'.repeat(600)}"}`, { jsonBytes: 500 });
    expect(long.code).toBe('body-too-large');
    expect(long.message).toContain('one shot a line as application/x-ndjson');
  });
  it('that is really NDJSON or a table says how to send it', async () => {
    expect((await refusal('json', '{"label":"a"}\n{"label":"b"}\n')).message).toContain('application/x-ndjson');
    expect((await refusal('json', 'label,rig\na,main\n')).message).toContain('text/csv');
    expect((await refusal('json', '{"label":\n"a",}')).message).not.toContain('Send one shot a line');
  });
});

describe('NDJSON', () => {
  it('is read line by line, whatever the line ends, with blank lines skipped but counted', async () => {
    const shots = await read('ndjson', '\ufeff{"label":"é1"}\r\n\n{"label":"b"}\n  \n{"label":"c"}', 3);
    expect(shots.map(({ position, row, value }) => [position, row, value])).toEqual([
      [1, 1, { label: 'é1' }],
      [2, 3, { label: 'b' }],
      [3, 5, { label: 'c' }],
    ]);
  });
  it('with a line that is not JSON goes on after it and tells the line', async () => {
    const [first, second, third] = await read('ndjson', '{"label":"a"}\n{"label":\n{"label":"c"}\n');
    expect(first?.faults).toEqual([]);
    expect(second).toMatchObject({ row: 2, value: null, faults: [{ code: 'structure-invalid', found: '{"label":' }] });
    expect(third?.value).toEqual({ label: 'c' });
  });
  it('with a line over the limit is refused with the number of the line', async () => {
    const error = await refusal('ndjson', `{"label":"a"}\n{"note":"${'x'.repeat(3000)}"}\n`);
    expect(error.code).toBe('line-too-long');
    expect(error.message).toContain('Line 2');
  });
  it('over the limit of the body, with bytes that are not UTF-8, or empty is refused', async () => {
    expect((await refusal('ndjson', '{"label":"a"}\n'.repeat(10_000))).code).toBe('body-too-large');
    expect((await refusal('ndjson', Uint8Array.of(0x22, 0xff, 0x22, 0x0a))).code).toBe('malformed-body');
    expect((await refusal('ndjson', '\n\n')).code).toBe('request-invalid');
  });
});

describe('CSV', () => {
  const valuesOf = async (text: string, size?: number) => (await read('csv', text, size)).map(({ value }) => value);

  it('takes units from brackets and from suffixes, and leaves out empty cells', async () => {
    const text =
      'label,rig,tip_height[mm],object_ball_distance_ft,reported_cue_speed[m/s],outcome_distance[[in_i]],outcome_ended\na,main,-8.5,2,3e0,-1.5,atRest\nb,main,,,,,\n';
    expect(await valuesOf(text)).toEqual([
      {
        label: 'a',
        rig: 'main',
        tipHeight: { method: 'contactMark', height: { value: -8.5, unit: 'mm' } },
        objectBallDistance: { value: 2, unit: '[ft_i]' },
        reported: { cueSpeed: { value: 3, unit: 'm/s' } },
        outcome: { distance: { value: -1.5, unit: '[in_i]' }, ended: 'atRest' },
      },
      { label: 'b', rig: 'main' },
    ]);
  });
  it('is the same with semicolons, byte order mark, CRLF, quotes, quoted line ends and trailing empty rows', async () => {
    const plain = await valuesOf('label,rig,note,straight\na,main,"one\ntwo, ""three""",false\n');
    expect(plain).toEqual([{ label: 'a', rig: 'main', note: 'one\ntwo, "three"', straight: false }]);
    for (const size of [1, 4, 1000]) {
      const dressed = '\ufefflabel;rig;note;straight\r\na;main;"one\ntwo, ""three""";no\r\n;;;\r\n\r\n';
      expect(await valuesOf(dressed, size)).toEqual(plain);
    }
  });
  it('counts rows as a spreadsheet does: the header is row 1 and empty rows count', async () => {
    const rows = await read('csv', 'label,rig\na,main\n\nb,main\n');
    expect(rows.map(({ position, row }) => [position, row])).toEqual([
      [1, 2],
      [2, 4],
    ]);
  });
  it('fills flags, frames, rings and booleans', async () => {
    const header =
      'label,rig,contact_closed_frame,contact_open_frame,trimmed_start,tip_height_method,tip_height_ring,tip_height_ring_step_mm,tip_height_side,lab_flags,shared';
    expect(await valuesOf(`${header}\na,main,120,126,1,ring,2.5,4,below,miscue push,TRUE\n`)).toEqual([
      {
        label: 'a',
        rig: 'main',
        contact: { closedFrame: 120, openFrame: 126, trimmedStart: 1 },
        tipHeight: { method: 'ring', ring: 2.5, ringStep: { value: 4, unit: 'mm' }, side: 'below' },
        labFlags: ['miscue', 'push'],
        shared: true,
      },
    ]);
  });
  it.each(['1 5', '0x10', '1e400', 'NaN', 'Infinity', '--1', '1e', '.', '1_000'])(
    'refuses the number %j',
    async (cell) => {
      const [shot] = await read('csv', `label;rig;ball_speed[m/s]\na;main;${cell}\n`);
      expect(shot?.faults).toHaveLength(1);
      expect(shot?.faults[0]).toMatchObject({ pointer: '/ballSpeed' });
      expect(shot?.value).toEqual({ label: 'a', rig: 'main' });
    },
  );
  it.each(['1.5', ' -5.5', '1 ', '\t1', '-0.25', '+3', '.5', '7.', '1e-3', '2E+2'])(
    'takes the number %j',
    async (cell) => {
      const [shot] = await read('csv', `label;rig;ball_speed[m/s]\na;main;${cell}\n`);
      expect(shot?.value).toMatchObject({ ballSpeed: { value: Number(cell), unit: 'm/s' } });
    },
  );
  it('takes spaces after the commas for nothing, except in a note', async () => {
    const text = 'label, rig, straight, contact_counted_frames, note\na, main, no, 5, two words\nb, main, , ,\n';
    expect(await valuesOf(text)).toEqual([
      { label: 'a', rig: 'main', straight: false, contact: { countedFrames: 5 }, note: ' two words' },
      { label: 'b', rig: 'main' },
    ]);
  });
  it.each([
    ['tip_height_top_edge[mm]', '3', 'shaftTopEdge'],
    ['tip_height_top_edge[mm],tip_height_bottom_edge[mm]', '3,-9', 'shaftEdges'],
    ['tip_height[mm]', '3', 'contactMark'],
    ['tip_height_ring,tip_height_ring_step[mm],tip_height_side', '2,4,below', 'ring'],
    ['tip_height_top_edge[mm],tip_height_ring,tip_height_station[mm]', '3,,40', 'shaftTopEdge'],
  ])('takes %s for the method it fits', async (header, cells, method) => {
    const [shot] = await read('csv', `label,rig,${header}\na,main,${cells}\n`);
    expect(shot?.faults).toEqual([]);
    expect(shot?.value).toMatchObject({ tipHeight: { method } });
  });
  it.each([
    ['tip_height[mm],tip_height_ring', '3,2'],
    ['tip_height_bottom_edge[mm],label', '3,a'],
  ])('says which columns belong to which method when %s fit none', async (header, cells) => {
    const [shot] = await read('csv', `rig,${header}\nmain,${cells}\n`);
    expect(shot?.faults).toMatchObject([{ pointer: '/tipHeight', found: expect.stringContaining('tip_height') }]);
    expect(shot?.faults[0]?.expected).toContain('top and bottom edge (shaftEdges)');
    expect(shot?.faults[0]?.remedy).toContain('tip_height_method');
  });
  it.each(['constructor', 'toString', '__proto__', 'hasOwnProperty[mm]'])('refuses the column %s', async (name) => {
    const { code, faults } = await refusal('csv', `label,${name}\n`);
    expect(code).toBe('request-invalid');
    expect(faults).toMatchObject([{ code: 'structure-invalid', row: 1, column: name }]);
  });
  it('refuses unknown, repeated and unit-less columns at once, each at row 1', async () => {
    const { code, faults } = await refusal(
      'csv',
      'label,rig,colour,tip_height,tip_height[mm],tip_height_height[cm],ball_speed[kg],label\n',
    );
    expect(code).toBe('request-invalid');
    expect(faults.map(({ code, row, column }) => [code, row, column])).toEqual([
      ['structure-invalid', 1, 'colour'],
      ['unit-unknown', 1, 'tip_height'],
      ['structure-invalid', 1, 'tip_height_height[cm]'],
      ['unit-dimension', 1, 'ball_speed[kg]'],
      ['structure-invalid', 1, 'label'],
    ]);
  });
  it('refuses a row of another length and goes on', async () => {
    const [short, long, good, padded] = await read('csv', 'label,rig\na\nb,main,more\nc,main\nd,main,,\n');
    expect(short?.faults[0]?.found).toBe('1 cells');
    expect(long?.faults[0]?.expected).toBe('2 cells, as in the header row');
    expect(good?.faults).toEqual([]);
    expect(padded?.faults).toEqual([]);
  });
  it('without rows, with a quote that is never closed, or with bytes that are not UTF-8 is refused', async () => {
    expect((await refusal('csv', 'label,rig\n')).code).toBe('request-invalid');
    expect((await refusal('csv', '')).code).toBe('request-invalid');
    expect((await refusal('csv', 'label,rig\n"a,main\n')).code).toBe('malformed-body');
    expect((await refusal('csv', `label,rig\n"${'x'.repeat(5000)}`)).code).toBe('line-too-long');
    expect((await refusal('csv', Uint8Array.of(0x6c, 0xc3, 0x0a, 0x61))).code).toBe('malformed-body');
  });
  it('that breaks off throws what broke it', async () => {
    async function* broken() {
      yield new TextEncoder().encode('label,rig\na,main\nb,');
      throw new Error('connection reset');
    }
    const reading = async () => {
      for await (const _shot of readShots('csv', broken(), limits));
    };
    await expect(reading()).rejects.toThrow('connection reset');
  });
  it('with a wrong header is refused at once, though the rest of the body never comes', async () => {
    async function* stalled() {
      yield new TextEncoder().encode('label,colour\na,red\n');
      await new Promise(() => {});
    }
    const reading = async () => {
      for await (const _shot of readShots('csv', stalled(), limits));
    };
    await expect(reading()).rejects.toMatchObject({ code: 'request-invalid' });
  });
});
