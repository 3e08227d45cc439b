/** Uploads and their receipts. Bodies of an upload pass through as streams and are never held whole. */
import type { FastifyInstance } from 'fastify';
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { receiptSchema, receiptShotSchema, submissionQuerySchema } from '../../../shared/submission.ts';
import type { Methods } from '../../derivation/methods.ts';
import { intakeLimits } from '../../intake/limits.ts';
import { getReceipt, listReceiptShots } from '../../intake/receipts.ts';
import { shareShots } from '../../intake/sharing.ts';
import { submitStream } from '../../intake/submit.ts';
import type { Database } from '../../store/database.ts';
import { labParameter, nextLink, pageQuery, refusals, uuidSchema } from './common.ts';

interface SubmissionRouteOptions {
  readonly db: Database;
  readonly maximumUploadBytes: number;
  readonly spoolDirectory: string;
  readonly methods: Methods;
}

const mediaTypes = { 'application/json': 'json', 'application/x-ndjson': 'ndjson', 'text/csv': 'csv' } as const;
type MediaType = keyof typeof mediaTypes;

const bodyDescription = `One shot, or {"shots": [...]}, as application/json; one shot a line as application/x-ndjson (any size);
a table of shots as text/csv with units in the headers, such as tip_height_top_edge[mm]. See ShotInput.`;

/** Lets a body through untouched, so that intake reads it as it arrives. */
function streamBodies(scope: FastifyInstance): void {
  scope.removeAllContentTypeParsers();
  scope.addContentTypeParser(Object.keys(mediaTypes), (_request, payload, done) => done(null, payload));
}

const uploadRoute: FastifyPluginAsyncZod<SubmissionRouteOptions> = async (scope, options) => {
  streamBodies(scope as unknown as FastifyInstance);
  scope.post(
    '/labs/:lab/submissions',
    {
      schema: {
        summary: 'Upload shots (contributor or lead of the lab)',
        tags: ['submissions'],
        consumes: Object.keys(mediaTypes),
        params: labParameter,
        querystring: submissionQuerySchema,
        body: z.any().meta({ description: bodyDescription }),
        response: { 200: receiptSchema, 201: receiptSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const type = (request.headers['content-type'] ?? '').split(';')[0]?.trim().toLowerCase() as MediaType;
      const { status, receipt } = await submitStream(
        options.db,
        request.principal,
        request.params.lab,
        request.query,
        mediaTypes[type],
        // An abort must reach intake as an error, and a refusal must still be answerable: so the request stays open.
        (
          request.body as NodeJS.ReadableStream & {
            iterator(o: { destroyOnReturn: boolean }): AsyncIterable<Uint8Array>;
          }
        ).iterator({ destroyOnReturn: false }),
        intakeLimits(options.spoolDirectory, options.maximumUploadBytes),
        options.methods,
      );
      return reply.code(status).header('location', `/v1/submissions/${receipt.submission}`).send(receipt);
    },
  );
};

export const submissionRoutes: FastifyPluginAsyncZod<SubmissionRouteOptions> = async (scope, options) => {
  const { db } = options;
  // Without the prefix, which this scope has already.
  await scope.register(uploadRoute, { ...options, prefix: '' });
  const parameters = z.strictObject({ submission: uuidSchema });
  scope.get(
    '/submissions/:submission',
    {
      schema: {
        summary: 'A receipt',
        tags: ['submissions'],
        params: parameters,
        response: { 200: receiptSchema, ...refusals },
      },
    },
    async (request) => getReceipt(db, request.principal, request.params.submission),
  );
  scope.get(
    '/submissions/:submission/shots',
    {
      schema: {
        summary: 'What happened to each shot of a submission, in the order sent',
        tags: ['submissions'],
        params: parameters,
        querystring: z.strictObject(pageQuery),
        response: {
          200: z.strictObject({ shots: z.array(receiptShotSchema), next: z.string().nullable() }),
          ...refusals,
        },
      },
    },
    async (request, reply) => {
      const page = await listReceiptShots(db, request.principal, request.params.submission, request.query);
      if (page.next !== null) void reply.header('link', nextLink(request.url, page.next));
      return page;
    },
  );
  scope.post(
    '/labs/:lab/sharing',
    {
      schema: {
        summary: 'Share shots with everybody, now (contributor or lead of the lab)',
        tags: ['shots'],
        params: labParameter,
        body: z.union([
          z.strictObject({ labels: z.array(z.string().max(80)).min(1).max(100_000) }),
          z.strictObject({ all: z.literal(true) }),
        ]),
        response: { 200: z.strictObject({ shared: z.int(), alreadyShared: z.int() }), ...refusals },
      },
    },
    async (request) => shareShots(db, request.principal, request.params.lab, request.body),
  );
};
