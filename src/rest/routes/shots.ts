/** Shots as stored: current state, history, track and derivation. What a token may not see looks like nothing. */
import { z } from 'zod';
import { derivedShotSchema } from '../../../shared/derivation.ts';
import { explainedDerivationSchema } from '../../../shared/explanation.ts';
import { slugSchema, storableText } from '../../../shared/measure.ts';
import { ballTrackSchema, cueTrackSchema } from '../../../shared/shot.ts';
import { shotFigure } from '../../figures/shot-figure.ts';
import { explainShot, loadDerivedShot } from '../../intake/explain-shot.ts';
import { getShot, getTrack, listRevisions, listShots } from '../../intake/shots.ts';
import { trackKinds } from '../../intake/track-bytes.ts';
import { withdrawShot } from '../../intake/withdraw.ts';
import { nextLink, pageQuery, type Routes, refusals, sendSvg, uuidSchema } from './common.ts';

const shotSchema = z
  .strictObject({
    id: uuidSchema,
    lab: slugSchema,
    label: z.string(),
    ordinal: z.int(),
    revision: z.int(),
    shared: z.boolean(),
    withdrawn: z.strictObject({ at: z.iso.datetime(), reason: z.string() }).nullable(),
    receivedAt: z.iso.datetime(),
    rig: z.string(),
    cue: z.string().nullable(),
    table: z.string().nullable(),
    content: z.unknown().meta({
      description:
        'The shot as sent, with unit codes after aliasing and gear versions; see ShotInput. The track is at /track.',
    }),
    derived: derivedShotSchema,
  })
  .meta({ id: 'StoredShot' });
const revisionSchema = z.strictObject({
  number: z.int(),
  receivedAt: z.iso.datetime(),
  submission: uuidSchema,
  purpose: z.enum(['upload', 'amendment', 'adoption']),
  reason: z.string().nullable(),
  contentHash: z.string(),
  rig: z.string(),
  cue: z.string().nullable(),
  table: z.string().nullable(),
  content: z.unknown(),
});
const parameters = z.strictObject({ shot: uuidSchema });
const methodQuery = z.strictObject({
  method: z
    .string()
    .max(20)
    .optional()
    .meta({ description: 'Method version under which the shot was derived; the active one when not given.' }),
});
const tags = ['shots'];

export const shotRoutes: Routes = async (scope, { db }) => {
  scope.get(
    '/shots',
    {
      schema: {
        summary: 'Shots that this token may see, by lab and ordinal',
        tags,
        querystring: z.strictObject({
          lab: slugSchema.optional(),
          label: storableText(1, 100).optional().meta({ description: "The lab's own label, as answers name a shot." }),
          ...pageQuery,
        }),
        response: { 200: z.strictObject({ shots: z.array(shotSchema), next: z.string().nullable() }), ...refusals },
      },
    },
    async (request, reply) => {
      const page = await listShots(db, request.principal, request.query);
      if (page.next !== null) void reply.header('link', nextLink(request.url, page.next));
      return page;
    },
  );
  scope.get(
    '/shots/:shot',
    { schema: { summary: 'One shot', tags, params: parameters, response: { 200: shotSchema, ...refusals } } },
    async (request) => getShot(db, request.principal, request.params.shot),
  );
  scope.get(
    '/shots/:shot/revisions',
    {
      schema: {
        summary: 'Revisions, newest first: all of an own shot, else those from the one that was shared',
        tags,
        params: parameters,
        response: { 200: z.strictObject({ revisions: z.array(revisionSchema) }), ...refusals },
      },
    },
    async (request) => ({ revisions: await listRevisions(db, request.principal, request.params.shot) }),
  );
  scope.get(
    '/shots/:shot/track',
    {
      schema: {
        summary: 'The cue track or the ball track as sent',
        tags,
        params: parameters,
        querystring: z.strictObject({ kind: z.enum(trackKinds).default('cue') }),
        response: { 200: z.union([cueTrackSchema, ballTrackSchema]), ...refusals },
      },
    },
    async (request) => getTrack(db, request.principal, request.params.shot, request.query.kind),
  );
  scope.get(
    '/shots/:shot/derivation',
    {
      schema: {
        summary: 'What the server computed, explained: inputs, steps, uncertainty budget, flags',
        tags,
        params: parameters,
        querystring: methodQuery,
        response: { 200: explainedDerivationSchema, ...refusals },
      },
    },
    async (request) => explainShot(db, request.principal, request.params.shot, request.query.method),
  );
  scope.get(
    '/shots/:shot/figure.svg',
    {
      schema: {
        summary: 'Track, fit, residuals, speed, acceleration and contact frames of a shot, drawn (SVG)',
        tags,
        params: parameters,
        querystring: methodQuery,
        produces: ['image/svg+xml'],
      },
    },
    async (request, reply) => {
      const drawn = await loadDerivedShot(db, request.principal, request.params.shot, request.query.method);
      return sendSvg(reply, shotFigure(drawn));
    },
  );
  scope.post(
    '/shots/:shot/withdrawal',
    {
      schema: {
        summary: 'Withdraw a shot with a reason (lead or contributor of its lab); its history stays',
        tags,
        params: parameters,
        body: z.strictObject({ reason: storableText(3, 500) }),
        response: { 204: z.null(), ...refusals },
      },
    },
    async (request, reply) => {
      await withdrawShot(db, request.principal, request.params.shot, request.body.reason);
      return reply.code(204).send(null);
    },
  );
};
