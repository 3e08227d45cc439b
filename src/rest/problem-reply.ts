/** Every error becomes one RFC 9457 problem of the closed table; inner text of a failure never leaves the server. */
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import { clientErrors } from '../../shared/client-errors.ts';
import { fault, pointerOf, printable } from '../../shared/fault.ts';
import { detailOf, problemOf } from '../../shared/problem.ts';
import { type Fault, type RequestProblemCode, requestProblems } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import { isDatabaseAway, loggable } from '../store/failure.ts';

interface ValidationIssue {
  readonly instancePath: string;
  readonly message?: string | undefined;
  readonly keyword?: string;
  readonly params?: unknown;
}

/** What stands at the keys of a path; undefined where there is nothing. */
function valueAt(sent: unknown, keys: readonly string[]): unknown {
  let value = sent;
  for (const key of keys) {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, key)) return undefined;
    value = (value as Readonly<Record<string, unknown>>)[key];
  }
  return value;
}

/** Faults of a request part that its schema refused. */
function faultsOf(issues: readonly ValidationIssue[], sent: unknown): Fault[] {
  return issues.map(({ instancePath, message }) => {
    const keys = instancePath.split('/').filter((key) => key !== '');
    const expected = message ?? 'a value of the documented kind';
    const remedy = 'Compare it with the schema of this route at /openapi.json.';
    return fault('structure-invalid', pointerOf(keys), valueAt(sent, keys), expected, remedy);
  });
}

/** The part of a request that a validation speaks of: body, querystring or params. */
function partOf(request: FastifyRequest, context: string): unknown {
  if (context === 'body') return request.body;
  return context === 'querystring' ? request.query : request.params;
}

/** The error handler of every route. */
export function replyProblem(error: FastifyError | Error, request: FastifyRequest, reply: FastifyReply): FastifyReply {
  const send = (code: RequestProblemCode, detail: string, faults: readonly Fault[] = [], extra: object = {}) =>
    reply
      .code(requestProblems[code].status)
      .type('application/problem+json')
      .send(JSON.stringify({ ...problemOf(code, detail, request.id, faults), ...extra }));

  if (error instanceof Refusal) {
    if (requestProblems[error.code].status === 401) void reply.header('www-authenticate', 'Bearer');
    // What the sender still has to say is not waited for.
    if (error.code === 'body-too-slow') void reply.header('connection', 'close');
    if (error.retryAfterSeconds !== null) void reply.header('retry-after', String(error.retryAfterSeconds));
    return send(error.code, detailOf(error), error.faults, error.extra);
  }
  if (hasZodFastifySchemaValidationErrors(error)) {
    const context = error.validationContext ?? 'request';
    const faults = faultsOf(error.validation, partOf(request, context));
    return send('request-invalid', `${faults.length} part(s) of the ${context} are not valid.`, faults);
  }
  const known = clientErrors[(error as FastifyError).code];
  if (known === 'unsupported-media-type') {
    const type = request.headers['content-type'];
    return send(known, type === undefined ? 'No Content-Type was given.' : `Content-Type was ${printable(type)}.`);
  }
  if (known !== undefined) return send(known, error.message);
  if (isDatabaseAway(error)) {
    request.log.error({ err: loggable(error) }, 'database away');
    void reply.header('retry-after', '5');
    return send('not-ready', 'The database does not answer.');
  }
  request.log.error({ err: loggable(error) }, 'request failed');
  return send('internal', 'An unexpected failure was logged under the request id.');
}

/** The handler of addresses without a route. */
export function replyNotFound(request: FastifyRequest, reply: FastifyReply): FastifyReply {
  return reply
    .code(404)
    .type('application/problem+json')
    .send(
      JSON.stringify(
        problemOf(
          'not-found',
          `${request.method} ${request.url.split('?')[0]} is not a route of this service.`,
          request.id,
          [],
        ),
      ),
    );
}
