/** What every row gets. */
import type { BenchDatabase, BenchServer } from './bench-database.ts';
import type { BenchOptions } from './options.ts';
import type { Row } from './report.ts';
import type { ServiceProgram } from './service/service-program.ts';

export interface Bench {
  readonly options: BenchOptions;
  readonly server: BenchServer;
  readonly shots: number;
  /** Progress for those who wait; no part of the report. */
  readonly note: (text: string) => void;
  /** The server as production runs it; built at the first call. */
  readonly program: () => Promise<ServiceProgram>;
  /** Twelve labs that together hold `shots` shots; filled at the first call, closed when handed out. */
  readonly pool: () => Promise<BenchDatabase>;
}

export type MeasureRow = (bench: Bench) => Promise<Row | readonly Row[]>;
