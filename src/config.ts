/** The only reader of the environment: every setting, its default and its check, in one place. */
import { z } from 'zod';

const settingsSchema = z.object({
  DATABASE_URL: z.string().min(1).optional(),
  DATA_DIRECTORY: z.string().min(1).default('data'),
  HOST: z.string().min(1).default('127.0.0.1'),
  PORT: z.coerce.number().int().min(0).max(65_535).default(8080),
  PUBLIC_READ: z.stringbool().default(false),
  CURATOR_TOKEN: z.string().min(32).optional(),
  CORS_ORIGINS: z.string().default(''),
  MAXIMUM_UPLOAD_MEGABYTES: z.coerce.number().int().min(1).default(2048),
  UPLOAD_IDLE_SECONDS: z.coerce.number().int().min(1).max(3600).default(60),
  UPLOAD_LEAST_BYTES_PER_SECOND: z.coerce.number().int().min(0).default(1000),
  ANALYSIS_THREADS: z.coerce.number().int().min(1).max(64).optional(),
  ANALYSIS_QUEUE: z.coerce.number().int().min(0).default(32),
  COLUMN_MEMORY_MEGABYTES: z.coerce.number().int().min(0).default(1000),
  LOG_LEVEL: z.enum(['trace', 'debug', 'info', 'warn', 'error', 'fatal', 'silent']).default('info'),
});

export interface Config {
  readonly databaseUrl: string | null;
  readonly dataDirectory: string;
  readonly host: string;
  readonly port: number;
  readonly publicRead: boolean;
  readonly curatorToken: string | null;
  readonly corsOrigins: readonly string[];
  readonly maximumUploadBytes: number;
  readonly uploadIdleSeconds: number;
  readonly uploadLeastBytesPerSecond: number;
  /** Long computations at a time; null leaves it to the number of processors. */
  readonly analysisThreads: number | null;
  readonly analysisQueue: number;
  /** Shots kept in memory for questions. */
  readonly columnBytes: number;
  readonly logLevel: string;
}

/**
 * Settings from an environment.
 *
 * @throws Error naming every setting that is wrong and what is expected
 */
export function readConfig(environment: Readonly<Record<string, string | undefined>> = process.env): Config {
  const set = Object.fromEntries(Object.entries(environment).filter(([, value]) => value !== ''));
  const read = settingsSchema.safeParse(set);
  if (!read.success) {
    const lines = read.error.issues.map((issue) => `  ${issue.path.join('.')}: ${issue.message}`);
    throw new Error(`These environment variables are not valid:\n${lines.join('\n')}\nThe README lists them all.`);
  }
  const settings = read.data;
  return {
    databaseUrl: settings.DATABASE_URL ?? null,
    dataDirectory: settings.DATA_DIRECTORY,
    host: settings.HOST,
    port: settings.PORT,
    publicRead: settings.PUBLIC_READ,
    curatorToken: settings.CURATOR_TOKEN ?? null,
    corsOrigins: settings.CORS_ORIGINS.split(',')
      .map((origin) => origin.trim())
      .filter((origin) => origin !== ''),
    maximumUploadBytes: settings.MAXIMUM_UPLOAD_MEGABYTES * 1_000_000,
    uploadIdleSeconds: settings.UPLOAD_IDLE_SECONDS,
    uploadLeastBytesPerSecond: settings.UPLOAD_LEAST_BYTES_PER_SECOND,
    analysisThreads: settings.ANALYSIS_THREADS ?? null,
    analysisQueue: settings.ANALYSIS_QUEUE,
    columnBytes: settings.COLUMN_MEMORY_MEGABYTES * 1_000_000,
    logLevel: settings.LOG_LEVEL,
  };
}
