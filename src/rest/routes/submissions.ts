/** Uploads and their receipts. Bodies of an upload pass through as streams and are never held whole. */
import { Readable } from 'node:stream';
import type { FastifyInstance, FastifyReply } from 'fastify';
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { printable } from '../../../shared/fault.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { receiptSchema, receiptShotSchema, submissionQuerySchema } from '../../../shared/submission.ts';
import type { Methods } from '../../derivation/methods.ts';
import { intakeLimits } from '../../intake/limits.ts';
import { frameParts } from '../../intake/read/frame-parts.ts';
import type { Pace } from '../../intake/read/pace-body.ts';
import { receiptLines, receiptTable } from '../../intake/receipt-table.ts';
import { getReceipt, listReceiptShots } from '../../intake/receipts.ts';
import { submitStream } from '../../intake/submit.ts';
import type { Database } from '../../store/database.ts';
import { labParameter, nextLink, pageQuery, preferredType, refusals, uuidSchema } from './common.ts';

interface SubmissionRouteOptions {
  readonly db: Database;
  readonly maximumUploadBytes: number;
  readonly spoolDirectory: string;
  readonly pace: Pace;
  readonly methods: Methods;
}

const mediaTypes = {
  'application/json': 'json',
  'application/x-ndjson': 'ndjson',
  'text/csv': 'csv',
  'multipart/form-data': 'multipart',
} as const;
type MediaType = keyof typeof mediaTypes;

const bodyDescription = `One shot, or {"shots": [...]}, as application/json; one shot a line as application/x-ndjson (any size);
a table of shots as text/csv with units in the headers, such as tip_height_top_edge[mm]; multipart/form-data with that
table as the file shots and one or more files tracks, one row a track point. See ShotInput and /v1/templates.`;

const uploadHeaders = z.looseObject({
  'idempotency-key': z
    .string()
    .regex(/^[\x21-\x7e]{1,200}$/)
    .optional()
    .meta({
      description:
        'Kept for 7 days with the token: the same request under the same key is answered once, and repeats get that answer. The same is a multipart body with the same parts, whatever its boundary.',
    }),
});

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
        headers: uploadHeaders,
        body: z.any().meta({ description: bodyDescription }),
        response: { 200: receiptSchema, 201: receiptSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const encoding = request.headers['content-encoding'] ?? 'identity';
      if (encoding !== 'identity') {
        const sent = printable(encoding);
        throw new Refusal('unsupported-media-type', `Content-Encoding was ${sent}: send the body uncompressed.`);
      }
      // Storing a long upload is silent for longer than an idle connection lives.
      if ('setTimeout' in request.raw.socket) request.raw.socket.setTimeout(0);
      const contentType = request.headers['content-type'] ?? '';
      const type = contentType.split(';')[0]?.trim().toLowerCase() as MediaType;
      // An abort must reach intake as an error, and a refusal must still be answerable: so the request stays open.
      const body = (
        request.body as NodeJS.ReadableStream & {
          iterator(o: { destroyOnReturn: boolean }): AsyncIterable<Uint8Array>;
        }
      ).iterator({ destroyOnReturn: false });
      const { status, receipt } = await submitStream(
        options.db,
        request.principal,
        request.params.lab,
        request.query,
        mediaTypes[type],
        type === 'multipart/form-data' ? frameParts(body, contentType) : body,
        intakeLimits(options.spoolDirectory, options.maximumUploadBytes, options.pace),
        { idempotencyKey: request.headers['idempotency-key'], methods: options.methods },
      );
      return reply.code(status).header('location', `/v1/submissions/${receipt.submission}`).send(receipt);
    },
  );
};

/** The media that hold all shots of a receipt at once; JSON comes in pages. */
const wholeReceipts = {
  'text/csv': { type: 'text/csv; charset=utf-8; header=present', lines: receiptTable },
  'application/x-ndjson': { type: 'application/x-ndjson', lines: receiptLines },
} as const;

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
        description:
          'Accept: application/json gives pages; application/x-ndjson all shots, one a line; text/csv a table with one line per problem.',
        produces: ['application/json', 'application/x-ndjson', 'text/csv'],
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
      void reply.header('vary', 'accept');
      const type = preferredType(request.headers.accept, ['application/json', 'text/csv', 'application/x-ndjson']);
      if (type !== 'application/json') {
        const whole = wholeReceipts[type];
        const lines = await whole.lines(db, request.principal, request.params.submission);
        // The response type knows only JSON.
        return (reply as FastifyReply).type(whole.type).send(Readable.from(lines));
      }
      const page = await listReceiptShots(db, request.principal, request.params.submission, request.query);
      if (page.next !== null) void reply.header('link', nextLink(request.url, page.next));
      return page;
    },
  );
};
