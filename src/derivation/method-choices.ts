/**
 * What the method versions do differently. There is one derivation; where versions part, it asks the choices of the
 * version it works under, so that an old version keeps every bit while the new one grows beside it.
 */

export interface MethodChoices {
  /** Name of the version, written into what it derives. */
  readonly version: string;
  /** Raise intervalNotAssured and ballPhaseShort where a track cannot show that its intervals hold. */
  readonly flagsUnassuredIntervals: boolean;
}

/** The first published version: every choice as it was. */
export const methodOne: MethodChoices = { version: '1', flagsUnassuredIntervals: false };

export const methodTwo: MethodChoices = { version: '2', flagsUnassuredIntervals: true };

/** What `deriveShot` works under unless told otherwise: the newest published version. */
export const newestChoices: MethodChoices = methodTwo;
