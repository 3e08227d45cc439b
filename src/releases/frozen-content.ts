/** A shot as a release stores it: without the points of its tracks, which lie in tracks.csv, and without whether it is shared. */
import { ballCameraSchema, shotInputSchema } from '../../shared/shot.ts';

export const frozenContentSchema = shotInputSchema
  .omit({ cueTrack: true, ballTrack: true, shared: true })
  .extend({ ballTrack: ballCameraSchema.optional() });
