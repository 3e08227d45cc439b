/** Files as spreadsheets write them are read, or refused with what to do about it; templates are read as they stand. */
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import type { Fault } from '../../shared/problems.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { csvColumns, trackColumns } from '../../src/intake/read/csv-columns.ts';
import { readCsvHeader } from '../../src/intake/read/csv-header.ts';
import { readCsv } from '../../src/intake/read/read-csv.ts';
import type { SentShot } from '../../src/intake/read/sent-shot.ts';
import { describeTemplate, templateText } from '../../src/intake/templates.ts';
import { chunked, inventedBook } from './invented.ts';

async function read(text: string, size = 7): Promise<SentShot[]> {
  const shots: SentShot[] = [];
  for await (const shot of readCsv(chunked(text, size), 100_000)) shots.push(shot);
  return shots;
}
const valuesOf = async (text: string) => (await read(text)).map(({ value }) => value as Record<string, unknown>);
const faultsOf = async (text: string): Promise<Fault[]> => (await read(text)).flatMap(({ faults }) => faults);

describe('decimal commas', () => {
  const speeds = async (...cells: string[]) => {
    const rows = await read(`label;rig;ball_speed[m/s]\n${cells.map((cell, n) => `s${n};main;${cell}`).join('\n')}\n`);
    return rows.map(({ value, faults }) => {
      const { ballSpeed } = value as { ballSpeed?: { value: number } };
      return ballSpeed?.value ?? faults[0]?.remedy;
    });
  };
  it('are read in a file separated by semicolons', async () => {
    expect(await speeds('1,5', '-0,25', '3', ',5', '1,5e-3')).toEqual([1.5, -0.25, 3, 0.5, 0.0015]);
  });
  it('that may be thousands are refused, unless the file has shown what it means', async () => {
    expect(await speeds('1,234', '2,5', '1,234')).toEqual([
      '1,234 may mean 1.234 or 1234: write a decimal point.',
      2.5,
      1.234,
    ]);
    expect(await speeds('0,234', '-12,345')).toEqual([0.234, -12.345]);
  });
  it('are refused beside decimal points, whichever came first', async () => {
    expect(await speeds('1.5', '1,5')).toEqual([1.5, expect.stringContaining('use one of them throughout')]);
    expect(await speeds('1,5', '1.5')).toEqual([1.5, expect.stringContaining('use one of them throughout')]);
  });
  it('with separators of thousands are refused', async () => {
    for (const cell of ['1.234,5', '1,234.5', '1,234,567']) {
      expect(await speeds(cell)).toEqual([expect.stringContaining('no thousands separators')]);
    }
  });
  it('are refused in a file separated by commas, with the remedy', async () => {
    const [fault] = await faultsOf('label,rig,ball_speed[m/s]\na,main,"1,5"\n');
    expect(fault).toMatchObject({ code: 'structure-invalid', pointer: '/ballSpeed', found: '1,5' });
    expect(fault?.remedy).toContain('separate the columns with semicolons');
  });
});

describe('a file written by a spreadsheet', () => {
  const sheet =
    '\ufefflabel;rig;note;contact_counted_frames;outcome_distance[cm];outcome_ended;\r\n' +
    'a;main;"erste Zeile\r\nzweite; ""Zeile""";4;-31,5;atRest;\r\n' +
    ';;;;;;\r\n' +
    'b;main;;5;12,25;atRest;\r\n' +
    ';;;;;;\r\n\r\n';
  it('is read with its byte order mark, semicolons, decimal commas, CRLF, quoted line ends and trailing empty rows', async () => {
    for (const size of [1, 3, 4096]) {
      const shots = await read(sheet, size);
      expect(shots.map(({ row, value, faults }) => [row, value, faults])).toEqual([
        [
          2,
          {
            label: 'a',
            rig: 'main',
            note: 'erste Zeile\r\nzweite; "Zeile"',
            contact: { countedFrames: 4 },
            outcome: { distance: { value: -31.5, unit: 'cm' }, ended: 'atRest' },
          },
          [],
        ],
        [
          4,
          {
            label: 'b',
            rig: 'main',
            contact: { countedFrames: 5 },
            outcome: { distance: { value: 12.25, unit: 'cm' }, ended: 'atRest' },
          },
          [],
        ],
      ]);
    }
  });
});

describe('columns', () => {
  it('say by what was read how it was read', async () => {
    const method = async (header: string, cells: string) => {
      const [shot] = await valuesOf(`label,rig,${header}\na,main,${cells}\n`);
      return (shot?.tipHeight as { method: string } | undefined)?.method;
    };
    expect(await method('tip_height[mm]', '-8')).toBe('contactMark');
    expect(await method('tip_height_top_edge[mm]', '-8')).toBe('shaftTopEdge');
    expect(await method('tip_height_top_edge[mm],tip_height_bottom_edge[mm]', '-8,-20')).toBe('shaftEdges');
    expect(await method('tip_height_ring,tip_height_ring_step[mm],tip_height_edge', '2,4,top')).toBe('ring');
  });
  it('hold repeat readings, and keep the place of the second when the first is empty', async () => {
    const header = 'label,rig,repeat1_observer,repeat1_outcome_distance[cm],repeat2_tip_height[mm]';
    expect(await valuesOf(`${header}\na,main,O2,-30,-8\nb,main,,,-9\nc,main,,,\n`)).toMatchObject([
      {
        repeats: [
          { observer: 'O2', outcomeDistance: { value: -30, unit: 'cm' } },
          { tipHeight: { method: 'contactMark', height: { value: -8, unit: 'mm' } } },
        ],
      },
      { repeats: [{}, { tipHeight: { method: 'contactMark' } }] },
      { label: 'c' },
    ]);
  });
  it('that name a track or the camera of one say that a single CSV holds no tracks', async () => {
    const faults = await faultsOf('label,rig,tracks,ball_capture_rate[fps]\na,main,cue,\nb,main,,60\nc,main,hand,\n');
    expect(faults.map(({ code, pointer, found }) => [code, pointer, found])).toEqual([
      ['track-missing', '/tracks', 'no cue track'],
      ['track-missing', '/ballTrack', 'the camera of a ball track'],
      ['track-missing', '/tracks', 'hand'],
    ]);
  });
});

describe('templates', () => {
  it('have every column, and the reader knows each of them', () => {
    for (const [name, table] of [['shots', csvColumns] as const, ['tracks', trackColumns] as const]) {
      const [header = []] = parse(templateText(name)) as string[][];
      const places = new Set(Object.values(table).map(({ path }) => path.join('/')));
      expect(readCsvHeader(header, table).map(({ path }) => path.join('/'))).toEqual([...places]);
      expect(describeTemplate(name)).toHaveLength(Object.keys(table).length);
      for (const column of describeTemplate(name)) expect(column.meaning.length, column.header).toBeGreaterThan(5);
    }
  });
  it('hold an example row of shots that every check accepts', async () => {
    const [sent] = await read(templateText('shots').replace('side-view', 'main'));
    if (sent === undefined) throw new Error('the template has no row');
    const { faults, ready } = prepareShot(parseSentShot(sent), inventedBook(), null);
    expect(faults).toEqual([]);
    expect(ready?.derived?.source).toBe('reported');
  });
  it('give an example of every column that its own cell reader takes', async () => {
    for (const [name, definition] of Object.entries(csvColumns)) {
      if (definition.example === '' || name === 'label' || name === 'rig') continue;
      const header = definition.unit === '' ? name : `${name}[${definition.unit}]`;
      const [sent] = await read(`label,rig,${header}\na,main,${definition.example}\n`);
      // One part of a reading alone does not say how it was read; that is no fault of the cell.
      const misread = sent?.faults.filter(({ code, pointer }) => code !== 'track-missing' && pointer !== '/tipHeight');
      expect(misread, name).toEqual([]);
    }
  });
});
