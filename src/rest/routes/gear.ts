/** Rigs, cues and tables of a lab. A version never changes: a mended calibration is a new version. */
import { z } from 'zod';
import { type GearKind, gearContentSchemas, gearKinds } from '../../../shared/gear.ts';
import { slugSchema } from '../../../shared/measure.ts';
import { addGearVersion, createGear, getGear, listGear } from '../../access/gear.ts';
import { labParameter, type Routes, refusals } from './common.ts';

const singular: Readonly<Record<GearKind, string>> = { rigs: 'rig', cues: 'cue', tables: 'table' };
const titles: Readonly<Record<GearKind, string>> = { rigs: 'Rig', cues: 'Cue', tables: 'Table' };
const namedParameter = labParameter.extend({ name: slugSchema });

export const gearRoutes: Routes = async (scope, { db }) => {
  for (const kind of gearKinds) {
    const content = gearContentSchemas[kind];
    const versionSchema = z
      .strictObject({ lab: slugSchema, name: slugSchema, version: z.int(), content, createdAt: z.iso.datetime() })
      .meta({ id: `${titles[kind]}Version` });
    const listSchema = z.strictObject({ versions: z.array(versionSchema) });
    const tags = ['gear'];

    scope.post(
      `/labs/:lab/${kind}`,
      {
        schema: {
          summary: `Register a ${singular[kind]} (lead): version 1`,
          tags,
          params: labParameter,
          body: z.strictObject({ name: slugSchema, content }),
          response: { 201: versionSchema, ...refusals },
        },
      },
      async (request, reply) => {
        const made = await createGear(
          db,
          request.principal,
          request.params.lab,
          kind,
          request.body.name,
          request.body.content,
        );
        return reply
          .code(201)
          .header('location', `/v1/labs/${request.params.lab}/${kind}/${made.name}`)
          .send(versionSchema.parse(made));
      },
    );
    scope.post(
      `/labs/:lab/${kind}/:name/versions`,
      {
        schema: {
          summary: `Add a version of a ${singular[kind]} (lead); earlier versions stay`,
          tags,
          params: namedParameter,
          body: z.strictObject({ content }),
          response: { 201: versionSchema, ...refusals },
        },
      },
      async (request, reply) => {
        const { lab, name } = request.params;
        const made = await addGearVersion(db, request.principal, lab, kind, name, request.body.content);
        return reply.code(201).send(versionSchema.parse(made));
      },
    );
    scope.get(
      `/labs/:lab/${kind}`,
      {
        schema: {
          summary: `All ${kind} of a lab, every version`,
          tags,
          params: labParameter,
          response: { 200: listSchema, ...refusals },
        },
      },
      async (request) =>
        listSchema.parse({ versions: await listGear(db, request.principal, request.params.lab, kind) }),
    );
    for (const suffix of ['', '/versions']) {
      scope.get(
        `/labs/:lab/${kind}/:name${suffix}`,
        {
          schema: {
            summary: `All versions of one ${singular[kind]}, newest first`,
            tags,
            params: namedParameter,
            response: { 200: listSchema, ...refusals },
          },
        },
        async (request) =>
          listSchema.parse({
            versions: await getGear(db, request.principal, request.params.lab, kind, request.params.name),
          }),
      );
    }
  }
};
