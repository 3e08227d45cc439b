/** Builds the application; never listens. Tests build the very app that production runs. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Fastify, { type FastifyInstance, type FastifyServerOptions } from 'fastify';
import { PrincipalBook } from './access/principal-book.ts';
import { ComparisonJobs } from './comparison/jobs/comparison-jobs.ts';
import { forgetOldJobs } from './comparison/jobs/job-rows.ts';
import { type Methods, publishedMethods } from './derivation/methods.ts';
import { graphqlPlugin } from './graphql/plugin.ts';
import { doDueWork } from './intake/housekeeping.ts';
import { shareDue } from './intake/planned-sharing.ts';
import { type Pace, usualPace } from './intake/read/pace-body.ts';
import { RecomputationRunner } from './intake/recomputation/recomputation-runner.ts';
import { openNoticeFeed } from './notices/notice-feed.ts';
import { ColumnStore } from './pooling/column-store/column-store.ts';
import { KeptReleases } from './pooling/kept-releases.ts';
import { withLiveSource } from './pooling/live-source.ts';
import { VersionBook } from './pooling/version-book.ts';
import { authenticate } from './rest/authentication.ts';
import { restPlugin } from './rest/plugin.ts';
import { replyNotFound, replyProblem } from './rest/problem-reply.ts';
import { healthRoutes } from './rest/routes/health.ts';
import type { OpenDatabase } from './store/open-database.ts';
import { type PoolLimits, ThreadPool } from './threads/thread-pool.ts';

export interface AppOptions {
  readonly database: OpenDatabase;
  readonly publicRead?: boolean;
  readonly corsOrigins?: readonly string[];
  readonly maximumUploadBytes?: number;
  /** Where uploads wait, checked and derived, until their transaction; a new temporary directory when not given. */
  readonly spoolDirectory?: string;
  /** How fast uploads have to come. */
  readonly pace?: Pace;
  /** Method versions that this server has; the published ones when not given. */
  readonly methods?: Methods;
  /** Long computations at a time, and how many may wait. */
  readonly threads?: PoolLimits;
  /** Bytes of shots that may be kept in memory; beyond them they are read anew for every question. */
  readonly columnBytes?: number;
  /** Shots above which a question is answered in a thread. */
  readonly manyShots?: number;
  readonly logger?: FastifyServerOptions['logger'];
}

declare module 'fastify' {
  interface FastifyContextConfig {
    /** False for routes that change nothing though their method might, such as questions that are posted. */
    writes?: boolean;
  }
}

const readingMethods: ReadonlySet<string> = new Set(['GET', 'HEAD', 'OPTIONS']);

/** The whole service over an open database, ready to listen or to be asked through `inject`. */
export async function buildApp(options: AppOptions): Promise<FastifyInstance> {
  const app = Fastify({
    logger: options.logger ?? false,
    bodyLimit: 1_048_576,
    // A sender that stalls is cut off and nothing of its upload is kept; one that only takes long is not: uploads keep a
    // pace of their own (src/intake/read/pace-body.ts).
    requestTimeout: 0,
    connectionTimeout: 120_000,
    forceCloseConnections: 'idle',
  });
  app.setErrorHandler(replyProblem);
  app.setNotFoundHandler(replyNotFound);
  await app.register(healthRoutes, { database: options.database });
  const spoolDirectory = options.spoolDirectory ?? (await mkdtemp(join(tmpdir(), 'shot-commons-spool-')));
  app.addHook('onClose', async () => rm(spoolDirectory, { recursive: true, force: true }));
  const { db } = options.database;
  const methods = options.methods ?? publishedMethods;
  const runner = new RecomputationRunner({
    db,
    methods,
    onFailure: (error) => app.log.error({ err: error }, 'a recomputation failed'),
  });
  app.addHook('onReady', async () => runner.wake());
  app.addHook('onClose', () => runner.stop());
  const feed = openNoticeFeed(options.database);
  app.addHook('onClose', () => feed.close());
  const versions = new VersionBook(db, feed, () => shareDue(db));
  const principals = new PrincipalBook(db, feed);
  // What was written here counts from its acknowledgement on, before other servers hear of it.
  app.addHook('onSend', async (request) => {
    if (readingMethods.has(request.method) || request.routeOptions.config.writes === false) return;
    versions.invalidate();
    principals.clear();
  });
  const threads = new ThreadPool(options.threads ?? { threads: 1, queue: 32 });
  const columns = new ColumnStore(options.database, options.columnBytes ?? 1_000_000_000);
  const live = withLiveSource(db, {
    versions,
    columns,
    releases: new KeptReleases(),
    threads,
    manyShots: options.manyShots ?? 50_000,
  });
  const jobs = new ComparisonJobs({
    db: live,
    pool: threads,
    onFailure: (error) => app.log.error({ err: error }, 'a comparison failed'),
  });
  app.addHook('onClose', async () => {
    await jobs.stop();
    await threads.close();
  });
  const publicRead = options.publicRead ?? false;
  await app.register(restPlugin, {
    db: live,
    feed,
    versions,
    principals,
    threads,
    methods,
    runner,
    jobs,
    publicRead,
    corsOrigins: options.corsOrigins ?? [],
    maximumUploadBytes: options.maximumUploadBytes ?? 2_000_000_000,
    spoolDirectory,
    pace: options.pace ?? usualPace,
  });
  await app.register(graphqlPlugin, {
    db: live,
    authenticate: (scope) => authenticate(scope, { principals, publicRead }),
  });
  keepHouse(app, options.database);
  return app;
}

const roundMilliseconds = 60_000;

/** Does what is due once the app is ready, and then every minute. */
function keepHouse(app: FastifyInstance, { db }: OpenDatabase): void {
  let round: Promise<void> | null = null;
  const start = () => {
    round ??= doDueWork(db)
      .then(() => forgetOldJobs(db))
      .catch((error: unknown) => app.log.error({ err: error }, 'due work failed; it is tried again'))
      .finally(() => {
        round = null;
      });
  };
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onReady', async () => {
    start();
    await round;
    timer = setInterval(start, roundMilliseconds);
    timer.unref();
  });
  app.addHook('onClose', async () => {
    clearInterval(timer);
    await round;
  });
}
