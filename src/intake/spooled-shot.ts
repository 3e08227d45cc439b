/** One shot of a submission while it waits for its transaction: what is only stored is already in the form it is stored in. */
import type { PreparedShot, ReadyShot } from './prepared-shot.ts';

export interface SpooledShot extends Omit<PreparedShot, 'ready'> {
  readonly ready: SpooledReady | null;
}

export interface SpooledReady extends Omit<ReadyShot, 'content' | 'derived' | 'derivedBeside'> {
  /** JSON text. */
  readonly content: Uint8Array;
  /** What makes the shot the same one whatever it is called, hexadecimal. */
  readonly receiptHash: string;
  /** By the method active when it was prepared, then by those kept beside it; empty when the shot has faults. */
  readonly derivations: readonly SpooledDerivation[];
}

export interface SpooledDerivation {
  readonly methodVersion: string;
  /** JSON text. */
  readonly derived: Uint8Array;
  /** Fields of its row in the hot table. */
  readonly hot: Uint8Array;
}
