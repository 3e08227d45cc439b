/** A lab joins: the curator registers it, its lead registers the gear and makes a token for uploads. */
import { z } from 'zod';
import { type Api, apiOf } from './api.ts';
import type { DemoLab } from './lab-model.ts';

export interface RegisteredLab {
  readonly lab: DemoLab;
  readonly slug: string;
  readonly lead: Api;
  readonly contributor: Api;
}

const madeToken = z.looseObject({ token: z.string() });
const made = z.looseObject({});

/** Registers one lab with its gear. */
export async function registerLab(curator: Api, lab: DemoLab): Promise<RegisteredLab> {
  const { slug } = lab.registration;
  const path = `/v1/labs/${slug}`;
  await curator.post('/v1/labs', lab.registration, made);
  const leadToken = await curator.post(`${path}/tokens`, { role: 'lead', note: `lead of ${slug}` }, madeToken);
  const lead = apiOf(curator.address, leadToken.token);
  await lead.post(`${path}/rigs`, lab.rig, made);
  await lead.post(`${path}/cues`, lab.cue, made);
  await lead.post(`${path}/tables`, lab.table, made);
  const contributorToken = await lead.post(
    `${path}/tokens`,
    { role: 'contributor', note: `uploads of ${slug}` },
    madeToken,
  );
  return { lab, slug, lead, contributor: apiOf(curator.address, contributorToken.token) };
}

/** A reader's token, made by the curator. */
export async function makeReaderToken(curator: Api): Promise<string> {
  return (await curator.post('/v1/tokens', { role: 'reader', note: 'visitor of the demo' }, madeToken)).token;
}
