/** What one upload may cost this server. */
import { type Pace, usualPace } from './read/pace-body.ts';

export interface IntakeLimits {
  /** Bytes of a whole body. */
  readonly uploadBytes: number;
  /** Bytes of a JSON body, which has to be held in memory at once. */
  readonly jsonBytes: number;
  /** Bytes of one line of NDJSON, or of one record of CSV. */
  readonly lineBytes: number;
  /** How fast a body has to come. */
  readonly pace: Pace;
  /** Directory in which uploads wait, checked and derived, until their transaction. */
  readonly spoolDirectory: string;
}

const mebibyte = 1024 * 1024;

/** The usual limits around a spool directory and a limit of the whole body. */
export function intakeLimits(spoolDirectory: string, uploadBytes = 2_000_000_000, pace = usualPace): IntakeLimits {
  return {
    uploadBytes,
    jsonBytes: Math.min(uploadBytes, 32 * mebibyte),
    lineBytes: 8 * mebibyte,
    pace,
    spoolDirectory,
  };
}
