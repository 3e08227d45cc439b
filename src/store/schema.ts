/** The tables of migrations/, as drizzle sees them. A test compares this file with a migrated database. */
import {
  bigint,
  boolean,
  date,
  doublePrecision,
  integer,
  json,
  jsonb,
  pgTable,
  primaryKey,
  smallint,
  text,
  timestamp,
  uuid,
} from 'drizzle-orm/pg-core';
import { bytea } from './bytea.ts';

export const serverState = pgTable('server_state', {
  id: smallint('id').primaryKey(),
  epoch: uuid('epoch').notNull().defaultRandom(),
  activeMethod: text('active_method').notNull(),
});

export const lab = pgTable('lab', {
  id: integer('id').generatedAlwaysAsIdentity().primaryKey(),
  slug: text('slug').notNull(),
  title: text('title').notNull(),
  dataLicence: text('data_licence').notNull(),
  consentReference: text('consent_reference').notNull(),
  version: bigint('version', { mode: 'number' }).notNull().default(0),
  sharedVersion: bigint('shared_version', { mode: 'number' }).notNull().default(0),
  nextOrdinal: integer('next_ordinal').notNull().default(1),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

export const accessToken = pgTable('access_token', {
  id: uuid('id').primaryKey().defaultRandom(),
  hash: bytea('hash').notNull(),
  role: text('role').notNull(),
  labId: integer('lab_id'),
  note: text('note').notNull(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
  expiresAt: timestamp('expires_at', { withTimezone: true }),
  revokedAt: timestamp('revoked_at', { withTimezone: true }),
  lastUsedAt: timestamp('last_used_at', { withTimezone: true }),
});

export const rig = pgTable('rig', {
  id: integer('id').generatedAlwaysAsIdentity().primaryKey(),
  labId: integer('lab_id').notNull(),
  name: text('name').notNull(),
  version: integer('version').notNull(),
  content: jsonb('content').notNull().$type<unknown>(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

export const cue = pgTable('cue', {
  id: integer('id').generatedAlwaysAsIdentity().primaryKey(),
  labId: integer('lab_id').notNull(),
  name: text('name').notNull(),
  version: integer('version').notNull(),
  content: jsonb('content').notNull().$type<unknown>(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

export const tableSetup = pgTable('table_setup', {
  id: integer('id').generatedAlwaysAsIdentity().primaryKey(),
  labId: integer('lab_id').notNull(),
  name: text('name').notNull(),
  version: integer('version').notNull(),
  content: jsonb('content').notNull().$type<unknown>(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

export const submission = pgTable('submission', {
  id: uuid('id').primaryKey(),
  labId: integer('lab_id').notNull(),
  tokenId: uuid('token_id'),
  receivedAt: timestamp('received_at', { withTimezone: true }).notNull(),
  mediaType: text('media_type').notNull(),
  dryRun: boolean('dry_run').notNull(),
  accept: text('accept').notNull(),
  revise: boolean('revise').notNull(),
  stored: boolean('stored').notNull(),
  createdCount: integer('created_count').notNull(),
  unchangedCount: integer('unchanged_count').notNull(),
  revisedCount: integer('revised_count').notNull(),
  rejectedCount: integer('rejected_count').notNull(),
  reason: text('reason'),
  purpose: text('purpose').$type<'upload' | 'amendment' | 'adoption'>().notNull().default('upload'),
});

export const submissionShot = pgTable(
  'submission_shot',
  {
    submissionId: uuid('submission_id').notNull(),
    position: integer('position').notNull(),
    label: text('label'),
    state: text('state').notNull(),
    shotId: uuid('shot_id'),
    revision: integer('revision'),
    derived: jsonb('derived').$type<unknown>(),
    faults: jsonb('faults').notNull().$type<unknown>(),
  },
  (t) => [primaryKey({ columns: [t.submissionId, t.position] })],
);

export const idempotencyKey = pgTable(
  'idempotency_key',
  {
    tokenId: uuid('token_id').notNull(),
    key: text('key').notNull(),
    claim: uuid('claim').notNull(),
    startedAt: timestamp('started_at', { withTimezone: true }).notNull(),
    aliveUntil: timestamp('alive_until', { withTimezone: true }).notNull(),
    bodyDigest: text('body_digest'),
    receipt: text('receipt'),
  },
  (t) => [primaryKey({ columns: [t.tokenId, t.key] })],
);

export const plannedSharing = pgTable('planned_sharing', {
  id: uuid('id').primaryKey().defaultRandom(),
  labId: integer('lab_id').notNull(),
  choice: jsonb('choice').notNull().$type<unknown>(),
  dueAt: timestamp('due_at', { withTimezone: true }).notNull(),
  tokenId: uuid('token_id'),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
  doneAt: timestamp('done_at', { withTimezone: true }),
  cancelledAt: timestamp('cancelled_at', { withTimezone: true }),
  shared: integer('shared'),
});

export const shot = pgTable('shot', {
  id: uuid('id').primaryKey().defaultRandom(),
  labId: integer('lab_id').notNull(),
  label: text('label').notNull(),
  ordinal: integer('ordinal').notNull(),
  currentRevisionId: bigint('current_revision_id', { mode: 'number' }),
  shared: boolean('shared').notNull().default(false),
  sharedAt: timestamp('shared_at', { withTimezone: true }),
  sharedFrom: integer('shared_from'),
  withdrawnAt: timestamp('withdrawn_at', { withTimezone: true }),
  withdrawnReason: text('withdrawn_reason'),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

export const shotRevision = pgTable('shot_revision', {
  id: bigint('id', { mode: 'number' }).generatedAlwaysAsIdentity().primaryKey(),
  shotId: uuid('shot_id').notNull(),
  number: integer('number').notNull(),
  submissionId: uuid('submission_id').notNull(),
  content: jsonb('content').notNull().$type<unknown>(),
  contentHash: bytea('content_hash').notNull(),
  trackHash: bytea('track_hash'),
  rigId: integer('rig_id').notNull(),
  cueId: integer('cue_id'),
  tableId: integer('table_id'),
  receivedAt: timestamp('received_at', { withTimezone: true }).notNull(),
  firstReceivedAt: timestamp('first_received_at', { withTimezone: true }).notNull(),
});

/** When each track (or content without track) of a lab first reached the server, stored or not. */
export const firstReceipt = pgTable(
  'first_receipt',
  {
    labId: integer('lab_id').notNull(),
    hash: bytea('hash').notNull(),
    receivedAt: timestamp('received_at', { withTimezone: true }).notNull(),
  },
  (t) => [primaryKey({ columns: [t.labId, t.hash] })],
);

export const track = pgTable(
  'track',
  {
    revisionId: bigint('revision_id', { mode: 'number' }).notNull(),
    kind: text('kind').notNull(),
    unit: text('unit').notNull(),
    points: integer('points').notNull(),
    positions: bytea('positions').notNull(),
    frames: bytea('frames'),
    firstFrame: integer('first_frame'),
    times: bytea('times'),
    timeUnit: text('time_unit'),
    gaps: bytea('gaps'),
  },
  (t) => [primaryKey({ columns: [t.revisionId, t.kind] })],
);

export const derivation = pgTable('derivation', {
  id: bigint('id', { mode: 'number' }).generatedAlwaysAsIdentity().primaryKey(),
  revisionId: bigint('revision_id', { mode: 'number' }).notNull(),
  methodVersion: text('method_version').notNull(),
  derived: json('derived').notNull().$type<unknown>(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

/** A method version computed beside the active one, from its start to its activation. */
export const recomputation = pgTable('recomputation', {
  id: uuid('id').primaryKey().defaultRandom(),
  fromMethod: text('from_method').notNull(),
  toMethod: text('to_method').notNull(),
  tokenId: uuid('token_id'),
  startedAt: timestamp('started_at', { withTimezone: true }).notNull().defaultNow(),
  finishedAt: timestamp('finished_at', { withTimezone: true }),
  failure: text('failure'),
  refused: integer('refused').notNull().default(0),
  activatedAt: timestamp('activated_at', { withTimezone: true }),
  changes: jsonb('changes').$type<unknown>(),
});

export const hotShot = pgTable(
  'hot_shot',
  {
    labId: integer('lab_id').notNull(),
    ordinal: integer('ordinal').notNull(),
    shotId: uuid('shot_id').notNull(),
    revisionId: bigint('revision_id', { mode: 'number' }).notNull(),
    label: text('label').notNull(),
    shared: boolean('shared').notNull(),
    receivedAt: timestamp('received_at', { withTimezone: true }).notNull(),
    source: smallint('source').notNull(),
    flags: integer('flags').notNull(),
    rigId: integer('rig_id').notNull(),
    cueId: integer('cue_id'),
    tableId: integer('table_id'),
    straight: boolean('straight').notNull(),
    player: text('player'),
    strokeStyle: text('stroke_style'),
    grip: text('grip'),
    sessionDate: date('session_date', { mode: 'string' }),
    cueSpeed: doublePrecision('cue_speed'),
    cueAcceleration: doublePrecision('cue_acceleration'),
    contactTime: doublePrecision('contact_time'),
    countedContactTime: doublePrecision('counted_contact_time'),
    tipOffset: doublePrecision('tip_offset'),
    tipHeight: doublePrecision('tip_height'),
    objectBallDistance: doublePrecision('object_ball_distance'),
    outcomeDistance: doublePrecision('outcome_distance'),
    ballSpeed: doublePrecision('ball_speed'),
    cueMass: doublePrecision('cue_mass'),
    elevation: doublePrecision('elevation'),
    uCueSpeed: doublePrecision('u_cue_speed'),
    uCueAcceleration: doublePrecision('u_cue_acceleration'),
    covarianceSpeedAcceleration: doublePrecision('covariance_speed_acceleration'),
    uContactTime: doublePrecision('u_contact_time'),
    uTipOffset: doublePrecision('u_tip_offset'),
    uOutcomeDistance: doublePrecision('u_outcome_distance'),
    uCueSpeedRig: doublePrecision('u_cue_speed_rig'),
    uCueAccelerationRig: doublePrecision('u_cue_acceleration_rig'),
    uContactTimeRig: doublePrecision('u_contact_time_rig'),
    uTipOffsetRig: doublePrecision('u_tip_offset_rig'),
    uTipOffsetCue: doublePrecision('u_tip_offset_cue'),
    uTipOffsetTable: doublePrecision('u_tip_offset_table'),
    outcomeResidual: doublePrecision('outcome_residual'),
    outcomeClass: doublePrecision('outcome_class'),
    earlyOutcomeDistance: doublePrecision('early_outcome_distance'),
    uOutcomeResidual: doublePrecision('u_outcome_residual'),
    uOutcomeResidualRig: doublePrecision('u_outcome_residual_rig'),
    uOutcomeResidualCue: doublePrecision('u_outcome_residual_cue'),
    uOutcomeResidualTable: doublePrecision('u_outcome_residual_table'),
    uOutcomeDistanceRig: doublePrecision('u_outcome_distance_rig'),
    uOutcomeDistanceTable: doublePrecision('u_outcome_distance_table'),
  },
  (t) => [primaryKey({ columns: [t.labId, t.ordinal] })],
);

/** Kept by triggers of hot_shot. */
export const hotChunk = pgTable(
  'hot_chunk',
  {
    labId: integer('lab_id').notNull(),
    chunk: integer('chunk').notNull(),
    version: bigint('version', { mode: 'number' }).notNull(),
  },
  (t) => [primaryKey({ columns: [t.labId, t.chunk] })],
);

export const vocabularyTerm = pgTable(
  'vocabulary_term',
  {
    kind: text('kind').notNull(),
    code: text('code').notNull(),
    meaning: text('meaning').notNull(),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
  },
  (t) => [primaryKey({ columns: [t.kind, t.code] })],
);

/** Which curated term a code of a lab means. */
export const vocabularyMapping = pgTable(
  'vocabulary_mapping',
  {
    labId: integer('lab_id').notNull(),
    kind: text('kind').notNull(),
    code: text('code').notNull(),
    term: text('term').notNull(),
  },
  (t) => [primaryKey({ columns: [t.labId, t.kind, t.code] })],
);

export const equivalenceMargin = pgTable('equivalence_margin', {
  id: uuid('id').primaryKey().defaultRandom(),
  variable: text('variable').notNull(),
  value: doublePrecision('value').notNull(),
  reason: text('reason').notNull(),
  tokenId: uuid('token_id'),
  declaredAt: timestamp('declared_at', { withTimezone: true }).notNull().defaultNow(),
  supersedes: uuid('supersedes'),
});

export const dataset = pgTable('dataset', {
  id: integer('id').generatedAlwaysAsIdentity().primaryKey(),
  slug: text('slug').notNull(),
  title: text('title').notNull(),
  licence: text('licence').notNull(),
  rule: jsonb('rule').notNull().$type<unknown>(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

export const release = pgTable('release', {
  id: integer('id').generatedAlwaysAsIdentity().primaryKey(),
  datasetId: integer('dataset_id').notNull(),
  number: integer('number').notNull(),
  digest: text('digest').notNull(),
  manifest: text('manifest').notNull(),
  methodVersion: text('method_version').notNull(),
  shots: integer('shots').notNull(),
  analyses: jsonb('analyses').notNull().$type<unknown>(),
  margins: jsonb('margins').notNull().$type<unknown>(),
  frozenAt: timestamp('frozen_at', { withTimezone: true }).notNull().defaultNow(),
});

export const releaseMember = pgTable(
  'release_member',
  {
    releaseId: integer('release_id').notNull(),
    labId: integer('lab_id').notNull(),
    ordinal: integer('ordinal').notNull(),
    revisionId: bigint('revision_id', { mode: 'number' }).notNull(),
    derivationId: bigint('derivation_id', { mode: 'number' }).notNull(),
    strokeStyleTerm: text('stroke_style_term'),
    gripTerm: text('grip_term'),
  },
  (t) => [primaryKey({ columns: [t.releaseId, t.labId, t.ordinal] })],
);

/** The texts of a release that are not made from rows: they are kept as frozen, so that a reworded text changes no release. */
export const releaseDocument = pgTable(
  'release_document',
  {
    releaseId: integer('release_id').notNull(),
    name: text('name').notNull(),
    content: text('content').notNull(),
  },
  (t) => [primaryKey({ columns: [t.releaseId, t.name] })],
);

export const analysis = pgTable('analysis', {
  id: text('id').primaryKey(),
  kind: text('kind').notNull(),
  scope: text('scope').notNull(),
  specification: jsonb('specification').notNull().$type<unknown>(),
  /** json, not jsonb: the text is kept as it was given. */
  result: json('result').notNull().$type<unknown>(),
  createdAt: timestamp('created_at', { withTimezone: true }).notNull().defaultNow(),
});

/** A question that takes long, from the moment at which its asker was told so. */
export const analysisJob = pgTable('analysis_job', {
  id: uuid('id').primaryKey().defaultRandom(),
  tokenId: uuid('token_id'),
  analysisId: text('analysis_id').notNull(),
  scope: text('scope').notNull(),
  state: text('state').$type<'waiting' | 'running' | 'finished' | 'failed' | 'cancelled'>().notNull(),
  step: text('step').$type<'matching' | 'judging'>(),
  share: doublePrecision('share').notNull().default(0),
  problem: jsonb('problem').$type<unknown>(),
  cancelRequested: boolean('cancel_requested').notNull().default(false),
  askedAt: timestamp('asked_at', { withTimezone: true }).notNull().defaultNow(),
  /** The server that works on it says again and again that it still does. */
  aliveUntil: timestamp('alive_until', { withTimezone: true }).notNull(),
  finishedAt: timestamp('finished_at', { withTimezone: true }),
});

export const auditEvent = pgTable('audit_event', {
  id: bigint('id', { mode: 'number' }).generatedAlwaysAsIdentity().primaryKey(),
  labId: integer('lab_id'),
  sequence: bigint('sequence', { mode: 'number' }).notNull(),
  happenedAt: timestamp('happened_at', { withTimezone: true }).notNull().defaultNow(),
  tokenId: uuid('token_id'),
  kind: text('kind').notNull(),
  detail: jsonb('detail').notNull().$type<unknown>(),
  previousDigest: text('previous_digest').notNull(),
  digest: text('digest').notNull(),
});
