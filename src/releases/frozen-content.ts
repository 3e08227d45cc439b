/** A shot as a release stores it: without its track, which lies in tracks.csv, and without whether it is shared. */
import { shotInputSchema } from '../../shared/shot.ts';

export const frozenContentSchema = shotInputSchema.omit({ cueTrack: true, shared: true });
