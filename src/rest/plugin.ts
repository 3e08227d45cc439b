/** The REST interface as one encapsulated scope: zod compilers, description, errors, authentication, routes. */
import cors from '@fastify/cors';
import swagger from '@fastify/swagger';
import type { FastifyInstance } from 'fastify';
import {
  jsonSchemaTransform,
  jsonSchemaTransformObject,
  serializerCompiler,
  validatorCompiler,
} from 'fastify-type-provider-zod';
import type { PrincipalBook } from '../access/principal-book.ts';
import type { ComparisonJobs } from '../comparison/jobs/comparison-jobs.ts';
import type { Methods } from '../derivation/methods.ts';
import type { Pace } from '../intake/read/pace-body.ts';
import type { RecomputationRunner } from '../intake/recomputation/recomputation-runner.ts';
import type { NoticeFeed } from '../notices/notice-feed.ts';
import type { VersionBook } from '../pooling/version-book.ts';
import type { Database } from '../store/database.ts';
import type { ThreadPool } from '../threads/thread-pool.ts';
import { authenticate } from './authentication.ts';
import { answerConditionally } from './conditional.ts';
import { KeptAnswers } from './kept-answers.ts';
import { replyProblem } from './problem-reply.ts';
import { analysisRoutes } from './routes/analyses.ts';
import { analysisFigureRoutes } from './routes/analysis-figures.ts';
import { calibrationRoutes } from './routes/calibrations.ts';
import { comparisonRoutes } from './routes/comparisons.ts';
import { correctionRoutes } from './routes/corrections.ts';
import { coverageRoutes } from './routes/coverage.ts';
import { datasetRoutes } from './routes/datasets.ts';
import { dictionaryRoutes } from './routes/dictionary.ts';
import { gearRoutes } from './routes/gear.ts';
import { labRoutes } from './routes/labs.ts';
import { marginRoutes } from './routes/margins.ts';
import { overlayRoutes } from './routes/overlays.ts';
import { planningRoutes } from './routes/planning.ts';
import { recomputationRoutes } from './routes/recomputations.ts';
import { releaseRoutes } from './routes/releases.ts';
import { sharingRoutes } from './routes/sharing.ts';
import { shotRoutes } from './routes/shots.ts';
import { submissionRoutes } from './routes/submissions.ts';
import { templateRoutes } from './routes/templates.ts';
import { tokenRoutes } from './routes/tokens.ts';
import { vocabularyRoutes } from './routes/vocabularies.ts';

export interface RestOptions {
  readonly db: Database;
  readonly feed: NoticeFeed;
  readonly versions: VersionBook;
  readonly principals: PrincipalBook;
  /** For long computations. */
  readonly threads: ThreadPool;
  readonly publicRead: boolean;
  readonly corsOrigins: readonly string[];
  readonly maximumUploadBytes: number;
  readonly spoolDirectory: string;
  readonly pace: Pace;
  readonly methods: Methods;
  readonly runner: RecomputationRunner;
  readonly jobs: ComparisonJobs;
}

const description = `Several labs upload high-speed films of cue strokes; this service checks them, recomputes cue
speed and acceleration at impact, contact time and tip offset with their uncertainties, pools labs, compares matched
pairs, and freezes releases that anybody can recompute. Results are in SI; inputs carry their own units. Refusals are
RFC 9457 problems from a closed table of codes. What is read carries an ETag, and If-None-Match is heeded.`;

/** Registers every route under /v1 and the description at /openapi.json. */
export async function restPlugin(scope: FastifyInstance, options: RestOptions): Promise<void> {
  scope.setValidatorCompiler(validatorCompiler);
  scope.setSerializerCompiler(serializerCompiler);
  scope.setErrorHandler(replyProblem);
  await scope.register(cors, {
    origin: [...options.corsOrigins],
    exposedHeaders: ['etag', 'link', 'location', 'retry-after'],
  });
  await scope.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: { title: 'Shot Commons', version: '0.1.0', description, license: { name: 'MIT', identifier: 'MIT' } },
      components: { securitySchemes: { token: { type: 'http', scheme: 'bearer' } } },
      security: [{ token: [] }],
    },
    transform: jsonSchemaTransform,
    transformObject: jsonSchemaTransformObject,
  });
  answerConditionally(scope);
  authenticate(scope, options);
  const { db } = options;
  await scope.register(labRoutes, { db, prefix: '/v1' });
  await scope.register(tokenRoutes, { db, prefix: '/v1' });
  await scope.register(gearRoutes, { db, prefix: '/v1' });
  await scope.register(calibrationRoutes, { db, prefix: '/v1' });
  await scope.register(submissionRoutes, { ...options, prefix: '/v1' });
  await scope.register(correctionRoutes, { ...options, prefix: '/v1' });
  await scope.register(sharingRoutes, { db, prefix: '/v1' });
  await scope.register(shotRoutes, { db, prefix: '/v1' });
  await scope.register(overlayRoutes, { db, prefix: '/v1' });
  await scope.register(recomputationRoutes, { ...options, prefix: '/v1' });
  await scope.register(
    async (analyses) => {
      // Sharing that is due by now belongs to the data of every question asked from now on.
      analyses.addHook('onRequest', async () => void (await options.versions.read()));
      await analyses.register(analysisRoutes, { db, answers: new KeptAnswers(options.versions) });
      await analyses.register(comparisonRoutes, { db, jobs: options.jobs });
      await analyses.register(analysisFigureRoutes, { db });
      await analyses.register(coverageRoutes, { db });
    },
    { prefix: '/v1' },
  );
  await scope.register(marginRoutes, { db, prefix: '/v1' });
  await scope.register(planningRoutes, { db, prefix: '/v1' });
  await scope.register(datasetRoutes, { db, prefix: '/v1' });
  await scope.register(releaseRoutes, { db, prefix: '/v1' });
  await scope.register(dictionaryRoutes, { prefix: '/v1' });
  await scope.register(templateRoutes, { prefix: '/v1' });
  await scope.register(vocabularyRoutes, { db, prefix: '/v1' });
  scope.get('/openapi.json', { config: { open: true }, schema: { hide: true } }, () => scope.swagger());
}
