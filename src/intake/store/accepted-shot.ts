/** A shot that a submission creates or revises, with its place among the shots of the lab. */
import type { SpooledDerivation, SpooledReady } from '../spooled-shot.ts';

export interface AcceptedShot {
  readonly id: string;
  readonly label: string;
  readonly ordinal: number;
  readonly isNew: boolean;
  /** Number of the revision that this submission adds. */
  readonly revision: number;
  /** Of the revision before it, microseconds since 1970; null when it is new. */
  readonly firstReceivedBefore: number | null;
  /** After this submission. */
  readonly shared: boolean;
  /** True when it becomes shared by this submission. */
  readonly newlyShared: boolean;
  readonly ready: SpooledReady;
  /** The derivation by the active method. */
  readonly current: SpooledDerivation;
}

/** What the rows of one submission have in common. */
export interface Arrival {
  readonly submissionId: string;
  readonly labId: number;
  readonly labSlug: string;
  readonly receivedAt: Date;
}
