/**
 * The closed table of problem codes (RFC 9457 problem details). Every refusal of the service carries one of these
 * codes; `type` is `/v1/problems#{code}`. A row problem also says where (JSON pointer, or CSV row and column), what was
 * found, what was expected and how to mend it.
 */
import { z } from 'zod';

export interface ProblemDefinition {
  readonly status: number;
  readonly title: string;
  /** What to do about it, in one sentence; a row problem may carry a more specific one. */
  readonly remedy: string;
}

export const requestProblems = {
  'malformed-body': {
    status: 400,
    title: 'The body cannot be read',
    remedy:
      'Send well-formed JSON, NDJSON (one JSON object a line) or CSV in UTF-8; the place of the first fault is given.',
  },
  'unsupported-media-type': {
    status: 415,
    title: 'This content type is not accepted here',
    remedy:
      'Send application/json, or for an upload also application/x-ndjson, text/csv or multipart/form-data, and say which in Content-Type.',
  },
  'body-too-large': {
    status: 413,
    title: 'The body is larger than this server accepts',
    remedy: 'Split the upload, or ask the operator to raise the limit named in the problem.',
  },
  'line-too-long': {
    status: 413,
    title: 'One line is longer than this server accepts',
    remedy: 'Send one shot a line; a track may have at most 100,000 points.',
  },
  unauthenticated: {
    status: 401,
    title: 'No valid token was given',
    remedy: 'Send the header Authorization: Bearer followed by the token; ask your lab lead or the curator for one.',
  },
  'token-expired': {
    status: 401,
    title: 'This token has expired or was revoked',
    remedy: 'Ask your lab lead or the curator for a new token.',
  },
  forbidden: {
    status: 403,
    title: 'This token may not do that',
    remedy: 'Use a token with the role named in the problem.',
  },
  'not-found': {
    status: 404,
    title: 'Nothing is here for this token',
    remedy: 'Check the address; what a token may not see looks the same as what does not exist.',
  },
  'name-taken': {
    status: 409,
    title: 'This name is already in use',
    remedy: 'Choose another name, or add a new version to the existing one.',
  },
  'body-too-slow': {
    status: 408,
    title: 'The body arrived too slowly',
    remedy: 'Send again over a better connection or in smaller parts; nothing was stored.',
  },
  'upload-in-progress': {
    status: 409,
    title: 'The same upload is in progress',
    remedy: 'Wait as long as Retry-After says and send the same request again to get its answer.',
  },
  'idempotency-key-reused': {
    status: 422,
    title: 'This Idempotency-Key belongs to another upload',
    remedy: 'Use a new key for a new upload, and the old one only to repeat the very same request.',
  },
  'shot-changed': {
    status: 409,
    title: 'The shot was revised in the meantime',
    remedy: 'Read the shot again and repeat the request from its current revision.',
  },
  'shot-released': {
    status: 409,
    title: 'A shot is in a release and stays shared',
    remedy: 'Withdraw the shot with a reason: later releases and analyses then leave it out.',
  },
  'margin-superseded': {
    status: 409,
    title: 'This equivalence margin has been superseded',
    remedy: 'Use the margin that superseded it; margins are never edited.',
  },
  'request-invalid': {
    status: 422,
    title: 'The request is not valid',
    remedy: 'Mend each listed error; the pointer says where it is.',
  },
  'persisted-query-unknown': {
    status: 400,
    title: 'The text of this query is not known here',
    remedy: 'Send the text of the query once together with its SHA-256; then the hash alone is enough for a while.',
  },
  'query-too-costly': {
    status: 400,
    title: 'This query asks for too much at once',
    remedy: 'Ask for fewer rows, or split the query; the schema states what each field costs.',
  },
  'submission-rejected': {
    status: 422,
    title: 'Nothing was stored: some shots are not valid',
    remedy: 'Mend the shots listed in the receipt and send again, or send with accept=valid to store the valid ones.',
  },
  'not-estimable': {
    status: 422,
    title: 'The data cannot answer this question',
    remedy: 'Follow the reason given: fewer terms, more shots, more labs, or a wider filter.',
  },
  'release-invalid': {
    status: 422,
    title: 'The release cannot be frozen',
    remedy: 'Follow the reason given: a rule that no shot meets, or an analysis that cannot be computed.',
  },
  'method-current': {
    status: 409,
    title: 'There is no newer method version to change to',
    remedy: 'Start a build that has a newer method version; the active one is named in the problem.',
  },
  'recomputation-unfinished': {
    status: 409,
    title: 'Not every shot has been derived under the new method version yet',
    remedy: 'Ask for the recomputation again, which goes on where it stopped, and activate it when it is finished.',
  },
  internal: {
    status: 500,
    title: 'The server failed',
    remedy:
      'Try again; if it stays, give the operator the request id. If you were uploading, read the receipt list or send the same upload again: what is stored already is reported as unchanged.',
  },
  'not-ready': {
    status: 503,
    title: 'The server is not ready',
    remedy: 'Try again after the time in Retry-After.',
  },
} as const satisfies Record<string, ProblemDefinition>;

/** Problems of one shot of a submission, or of one piece of gear. They appear in receipts and in `errors`. */
export const rowProblems = {
  'structure-invalid': {
    status: 422,
    title: 'A field is missing, unknown or of the wrong kind',
    remedy: 'Compare the field with the schema at /openapi.json.',
  },
  'value-not-finite': {
    status: 422,
    title: 'A number is not finite',
    remedy: 'Leave the value out when it is not known; do not send NaN, infinity or an empty number.',
  },
  'unit-unknown': {
    status: 422,
    title: 'The unit is not known',
    remedy: 'Use the nearest unit given, or any UCUM code of the right dimension.',
  },
  'unit-dimension': {
    status: 422,
    title: 'The unit measures something else',
    remedy: 'Use a unit of the expected dimension.',
  },
  'limit-exceeded': {
    status: 422,
    title: 'The value is impossible',
    remedy: 'Check the unit and the decimal point; the limits are given in SI.',
  },
  'label-duplicate': {
    status: 422,
    title: 'The label occurs twice in this submission',
    remedy: 'Give every shot of the lab its own label.',
  },
  'label-taken': {
    status: 422,
    title: 'A different shot of the lab has this label',
    remedy: 'Send with revise=true to store it as a new revision, or give the shot a new label.',
  },
  'gear-unknown': {
    status: 422,
    title: 'The lab has no such rig, cue or table',
    remedy: 'Register it first, or correct the name or version.',
  },
  'exposure-too-long': {
    status: 422,
    title: 'The exposure is longer than a frame',
    remedy: 'Exposure cannot exceed 1 / capture rate; check its unit.',
  },
  'playback-above-capture': {
    status: 422,
    title: 'The playback rate is above the capture rate',
    remedy: 'A slow-motion file plays slower than it was recorded: the two rates are probably swapped.',
  },
  'time-base-playback': {
    status: 422,
    title: 'The times follow the playback rate, not the capture rate',
    remedy: 'Compute times as frame number / capture rate, or send frame numbers only.',
  },
  'time-base-mismatch': {
    status: 422,
    title: 'The times do not match the frames at the capture rate',
    remedy: 'Check the capture rate of the rig, or send frame numbers only.',
  },
  'rate-confusion': {
    status: 422,
    title: 'The value is out of range by about the ratio of capture to playback rate',
    remedy:
      'Register a rig version whose capture rate is the rate of recording (read it from the camera, not from the file) and send the shots with it.',
  },
  'frames-not-increasing': {
    status: 422,
    title: 'Frame numbers or times do not increase',
    remedy: 'Sort the track by frame and remove repeated frames.',
  },
  'track-lengths-differ': {
    status: 422,
    title: 'Positions, frames and times differ in number',
    remedy: 'Send one frame (or time) for each position.',
  },
  'track-too-short': {
    status: 422,
    title: 'Too few track points before first contact',
    remedy: 'Track the cue from earlier in the stroke; at least 8 points before contact are needed.',
  },
  'track-motionless': {
    status: 422,
    title: 'The cue does not move towards the ball before contact',
    remedy: "Check the sign of the positions (rig field 'positiveTowardsBall') and the first contact frame.",
  },
  'track-duplicate': {
    status: 422,
    title: 'The same track was sent under another label',
    remedy: 'Send each track once; withdraw or correct the other shot if it is the wrong one.',
  },
  'track-missing': {
    status: 422,
    title: 'The shot names a track that was not sent',
    remedy: 'Send multipart/form-data with the parts shots and tracks, the track under the very label of the shot.',
  },
  'track-without-shot': {
    status: 422,
    title: 'A track names a shot that was not sent',
    remedy: 'Write the label as in the table of shots, or add the shot there.',
  },
  'scale-missing': {
    status: 422,
    title: 'Pixels were sent but the rig has no scale',
    remedy: 'Register a rig version with a scale, or send the track in a length unit.',
  },
  'contact-frames-order': {
    status: 422,
    title: 'The opening frame is not after the closing frame',
    remedy:
      'closedFrame is the first frame in which the gap looks closed, openFrame the first in which it looks open again: they are probably swapped.',
  },
  'contact-outside-track': {
    status: 422,
    title: 'The contact frames lie outside the track',
    remedy: 'Number contact frames and track frames from the same first frame.',
  },
  'trim-too-large': {
    status: 422,
    title: 'More frames were trimmed than there are contact frames',
    remedy: 'trimmedStart + trimmedEnd must be smaller than the number of contact frames.',
  },
  'first-contact-missing': {
    status: 422,
    title: 'A track was sent without the frame of first contact',
    remedy: 'Give contact.closedFrame, the first frame in which the gap looks closed.',
  },
  'sign-missing': {
    status: 422,
    title: 'A ring reading does not say whether it is above or below the centre',
    remedy: "Add side 'above' or 'below'; an unsigned ring is never taken as above.",
  },
  'outside-ball': {
    status: 422,
    title: 'The tip cannot touch the ball there',
    remedy: 'Check the reading, its unit and its zero (ball centre or cloth).',
  },
} as const satisfies Record<string, ProblemDefinition>;

export const problems = { ...requestProblems, ...rowProblems } as const;
export type RequestProblemCode = keyof typeof requestProblems;
export type RowProblemCode = keyof typeof rowProblems;
export type ProblemCode = keyof typeof problems;

export const problemCodeSchema = z.enum(Object.keys(problems) as [ProblemCode, ...ProblemCode[]]);

/** One fault of one shot or one request field. */
export const faultSchema = z
  .strictObject({
    code: problemCodeSchema,
    pointer: z
      .string()
      .nullable()
      .meta({ description: 'JSON pointer (RFC 6901) into the shot or body; null for a CSV cell.' }),
    row: z
      .int()
      .nullable()
      .meta({ description: 'Row of a CSV file, counting the header as 1; line of an NDJSON body; else null.' }),
    column: z.string().nullable().meta({ description: 'CSV column header; else null.' }),
    part: z
      .enum(['shots', 'tracks'])
      .optional()
      .meta({ description: 'Of a multipart upload: the part that row and column belong to.' }),
    found: z.string().meta({ description: 'What was sent, shortened if long.' }),
    expected: z.string().meta({ description: 'What would have been accepted.' }),
    remedy: z.string().meta({ description: 'How to mend it.' }),
  })
  .meta({ id: 'Fault' });
export type Fault = z.infer<typeof faultSchema>;

/** RFC 9457 problem details; `errors` lists faults, `receipt` is present when a submission was refused. */
export const problemSchema = z
  .looseObject({
    type: z.string(),
    title: z.string(),
    status: z.int(),
    code: problemCodeSchema,
    detail: z.string(),
    remedy: z.string(),
    instance: z.string().optional().meta({ description: 'Request id, for the operator.' }),
    errors: z.array(faultSchema).optional(),
  })
  .meta({ id: 'Problem' });
export type Problem = z.infer<typeof problemSchema>;
