/** Text that no database can hold, and names that every object has, are refused with what and where, never a failure. */
import { afterAll, beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { gear, lab, type Service, startService, validShot } from './service.ts';

const uploads = `/v1/labs/${lab}/submissions`;
const reason = 'half a ball is what a player can use';

/** Bodies with a place for text, by route; the pointer is that of the text. */
const bodies: readonly [
  role: 'curator' | 'lead' | 'contributor',
  url: string,
  body: (text: string) => object,
  string,
][] = [
  ['curator', '/v1/labs', (title) => ({ slug: 'x', title, dataLicence: 'CC0-1.0', consentReference: 'x' }), '/title'],
  [
    'curator',
    '/v1/labs',
    (consentReference) => ({ slug: 'x', title: 'x', dataLicence: 'CC0-1.0', consentReference }),
    '/consentReference',
  ],
  [
    'lead',
    `/v1/labs/${lab}/rigs`,
    (note) => ({ name: 'noted', content: { ...gear.rigs.main, note } }),
    '/content/note',
  ],
  [
    'lead',
    `/v1/labs/${lab}/cues`,
    (tipMaterial) => ({ name: 'noted', content: { ...gear.cues.house, tipMaterial } }),
    '/content/tipMaterial',
  ],
  [
    'lead',
    `/v1/labs/${lab}/tables`,
    (cloth) => ({ name: 'noted', content: { ...gear.tables.club, cloth } }),
    '/content/cloth',
  ],
  ['lead', `/v1/labs/${lab}/tokens`, (note) => ({ role: 'contributor', note }), '/note'],
  ['curator', '/v1/tokens', (note) => ({ role: 'reader', note }), '/note'],
  ['curator', '/v1/datasets', (title) => ({ slug: 'x', title, licence: 'CC0-1.0' }), '/title'],
  [
    'curator',
    '/v1/datasets',
    (value) => ({ slug: 'x', title: 'x', licence: 'x', filter: { groups: [{ grouping: 'player', values: [value] }] } }),
    '/filter/groups/0/values/0',
  ],
  ['lead', '/v1/margins', (text) => ({ variable: 'cueSpeed', value: 0.1, reason: reason + text }), '/reason'],
  ['contributor', `/v1/labs/${lab}/sharing`, (label) => ({ labels: [label] }), '/labels/0'],
];

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
  });
  afterAll(() => service.app.close());

  it.each(['broken \ud800 text', 'nul \0 text'])('%j is refused wherever free text is sent', async (text) => {
    for (const [role, url, body, pointer] of bodies) {
      const answer = await service.ask(role, 'POST', url, body(text));
      expect(answer.status, `${url} ${answer.text}`).toBe(422);
      expect(answer.json.code, url).toBe('request-invalid');
      const [fault] = answer.json.errors;
      // The labels of sharing are one way of a union, which is told as a whole.
      expect(pointer.startsWith(fault.pointer), `${url} ${answer.text}`).toBe(true);
    }
  });

  it('in a cursor or a question such text is refused too', async () => {
    expect((await service.ask('reader', 'GET', '/v1/shots?after=%00:1')).status).toBe(422);
    const asked = {
      response: 'contactTime',
      terms: [[{ variable: 'cueSpeed' }]],
      filter: { groups: [{ grouping: 'player', values: ['\0'] }] },
    };
    expect((await service.ask('reader', 'POST', '/v1/analyses/regression', asked)).status).toBe(422);
    const source = { response: 'contactTime', terms: [[{ variable: 'cueSpeed' }]], source: { release: '\0' } };
    expect((await service.ask('reader', 'POST', '/v1/analyses/regression', source)).status).toBe(422);
    const link = await service.ask('reader', 'GET', '/v1/regression?response=contactTime&terms=cueSpeed&release=%00');
    expect(link.status, link.text).toBe(422);
    const terms = Array.from({ length: 45 }, () => 'cueSpeed').join(',');
    const long = await service.ask('reader', 'GET', `/v1/regression?response=contactTime&terms=${terms}`);
    expect(long.json.errors, long.text).toMatchObject([{ pointer: '/terms' }]);
  });

  it('in a shot it is a fault of that shot, also in the name of a field, a unit and a broken line', async () => {
    const shots = [
      validShot('noted', { note: 'nul \0 text' }),
      { ...validShot('named'), 'field\0': 1, constructor: 2 },
      validShot('unit', { objectBallDistance: { value: 1, unit: 'm\0' } }),
    ];
    const lines = [...shots.map((shot) => JSON.stringify(shot)), '{"label":\0}'].join('\n');
    const answer = await service.ask('contributor', 'POST', uploads, lines, 'application/x-ndjson');
    expect(answer.status, answer.text).toBe(422);
    const { receipt } = answer.json;
    expect(receipt.counts.rejected).toBe(4);
    expect(receipt.rejected[0].faults).toMatchObject([
      { code: 'structure-invalid', pointer: '/note', expected: expect.stringContaining('without NUL') },
    ]);
    expect((await service.ask('contributor', 'GET', `/v1/submissions/${receipt.submission}`)).json).toEqual(receipt);
  });

  it.each(['constructor', 'toString', '__proto__'])('a CSV column called %s is unknown', async (name) => {
    const answer = await service.ask('contributor', 'POST', uploads, `label,rig,${name}\na,main,1\n`, 'text/csv');
    expect(answer.status, answer.text).toBe(422);
    expect(answer.json.errors).toMatchObject([{ code: 'structure-invalid', row: 1, column: name }]);
  });
});
