/** What the HTTP server itself refuses. */
import type { RequestProblemCode } from './problems.ts';

/** Fastify's own errors that a client can cause, and the problem each one is. */
export const clientErrors: Readonly<Record<string, RequestProblemCode>> = {
  FST_ERR_CTP_INVALID_JSON_BODY: 'malformed-body',
  FST_ERR_CTP_EMPTY_JSON_BODY: 'malformed-body',
  FST_ERR_CTP_INVALID_CONTENT_LENGTH: 'malformed-body',
  FST_ERR_CTP_BODY_TOO_LARGE: 'body-too-large',
  FST_ERR_CTP_INVALID_MEDIA_TYPE: 'unsupported-media-type',
  FST_ERR_CTP_INVALID_TYPE: 'unsupported-media-type',
};
