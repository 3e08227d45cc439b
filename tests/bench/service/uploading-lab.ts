/** A lab with gear and a token, ready to send tracks, and the upload itself. */
import { once } from 'node:events';
import { type IncomingMessage, request } from 'node:http';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { cueContent, gearNames, rigContent, tableContent } from '../made/track-shots.ts';
import type { RunningService } from './running-service.ts';

export interface UploadingLab {
  /** Sends NDJSON. @throws Error unless every one of `shots` shots was created */
  upload(body: Iterable<Uint8Array> | AsyncIterable<Uint8Array>, shots: number): Promise<void>;
  /** The same lab after a restart of the server. */
  at(service: RunningService): UploadingLab;
}

export async function makeUploadingLab(service: RunningService, slug: string): Promise<UploadingLab> {
  const lab = { slug, title: 'Invented lab', dataLicence: 'CC0-1.0', consentReference: 'invented' };
  await service.ask('POST', '/v1/labs', lab);
  const { token } = (await service.ask('POST', `/v1/labs/${slug}/tokens`, { role: 'lead', note: 'bench' })) as {
    token: string;
  };
  const gear = { rigs: rigContent, cues: cueContent, tables: tableContent };
  for (const [kind, content] of Object.entries(gear)) {
    const name = gearNames[kind as keyof typeof gear];
    await service.ask('POST', `/v1/labs/${slug}/${kind}`, { name, content }, token);
  }
  return uploaderOf(service, slug, token);
}

function uploaderOf(service: RunningService, slug: string, token: string): UploadingLab {
  return {
    at: (restarted) => uploaderOf(restarted, slug, token),
    async upload(body, shots) {
      const text = await post(`${service.address}/v1/labs/${slug}/submissions`, token, body);
      const { counts } = JSON.parse(text) as { counts?: { created: number } };
      if (counts?.created !== shots) throw new Error(`${shots} shots were sent, answered: ${text.slice(0, 1000)}`);
    },
  };
}

/** One POST in chunks as they come; node:http adds less of its own than fetch. */
async function post(
  address: string,
  token: string,
  body: Iterable<Uint8Array> | AsyncIterable<Uint8Array>,
): Promise<string> {
  const sent = request(address, {
    method: 'POST',
    headers: { authorization: `Bearer ${token}`, 'content-type': 'application/x-ndjson' },
  });
  const response = once(sent, 'response') as Promise<[IncomingMessage]>;
  const [[answer]] = await Promise.all([response, pipeline(Readable.from(body), sent)]);
  return Buffer.concat(await answer.toArray()).toString();
}
