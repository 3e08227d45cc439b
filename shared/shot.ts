/** One shot as a lab sends it. Everything stays as sent; the derivation scales it. */
import { z } from 'zod';
import { calendarDateSchema, codeSchema, gearReferenceSchema, measureOf, storableText } from './measure.ts';

export const maximumTrackPoints = 100_000;

const frameNumber = z.int().min(-1_000_000_000).max(1_000_000_000);

/** Position of the cue along the stroke axis. Frame numbers and times may both be given; then they must agree. */
export const cueTrackSchema = z
  .strictObject({
    unit: z
      .string()
      .min(1)
      .max(40)
      .meta({ description: 'Length unit of the positions, or px (then the rig needs a scale).' }),
    positions: z.array(z.number()).max(maximumTrackPoints),
    frames: z.array(frameNumber).max(maximumTrackPoints).optional(),
    firstFrame: frameNumber
      .optional()
      .meta({ description: 'Frame of the first position when every frame is tracked; instead of frames.' }),
    times: z
      .strictObject({ unit: z.string().min(1).max(40), values: z.array(z.number()).max(maximumTrackPoints) })
      .optional()
      .meta({
        description: 'Times of the positions on the clock of capture: frame number / capture rate, up to a constant.',
      }),
    gaps: z.array(z.number().nullable()).max(maximumTrackPoints).optional().meta({
      description:
        'Tip-ball gap at each position, in the unit of the positions, where it was tracked; null elsewhere. Gives first contact within a frame.',
    }),
  })
  .meta({ id: 'CueTrack' });
export type CueTrack = z.infer<typeof cueTrackSchema>;

/**
 * Position of the cue ball along the shot line, often from an ordinary camera with a rate, scale and clock of its own.
 * Positive towards the object ball.
 */
export const ballTrackSchema = z
  .strictObject({
    unit: z
      .string()
      .min(1)
      .max(40)
      .meta({ description: 'Length unit of the positions, or px (then a scale is needed).' }),
    positions: z.array(z.number()).max(maximumTrackPoints),
    frames: z.array(frameNumber).max(maximumTrackPoints).optional(),
    firstFrame: frameNumber.optional(),
    times: z
      .strictObject({ unit: z.string().min(1).max(40), values: z.array(z.number()).max(maximumTrackPoints) })
      .optional(),
    captureRate: measureOf('captureRate').optional().meta({ description: 'Of the camera that filmed the ball.' }),
    playbackRate: measureOf('playbackRate').optional(),
    scale: measureOf('scale').optional(),
    scaleRelativeUncertainty: z.number().min(0).max(0.5).default(0.005),
    contactFrame: frameNumber
      .optional()
      .meta({ description: 'Frame of this camera in which tip and ball touch, when seen.' }),
    impactFrame: frameNumber
      .optional()
      .meta({ description: 'Frame of this camera in which the balls touch, when seen.' }),
  })
  .meta({ id: 'BallTrack' });
export type BallTrack = z.infer<typeof ballTrackSchema>;

/** What a shot says about its ball track beside the points, which are stored as tracks are. */
export const ballCameraSchema = ballTrackSchema
  .omit({ unit: true, positions: true, frames: true, firstFrame: true, times: true })
  .meta({ id: 'BallCamera' });

/** Frames in which tip and ball touch, either as frame numbers or as a bare count. */
export const contactSchema = z
  .strictObject({
    closedFrame: frameNumber.optional().meta({ description: 'First frame in which the gap looks closed.' }),
    openFrame: frameNumber.optional().meta({ description: 'First frame in which the gap looks open again.' }),
    countedFrames: z
      .int()
      .min(0)
      .max(100_000)
      .optional()
      .meta({ description: 'Number of contact frames before trimming, when frame numbers were not kept.' }),
    trimmedStart: z.int().min(0).max(1000).default(0),
    trimmedEnd: z.int().min(0).max(1000).default(0),
  })
  .meta({ id: 'Contact' });
export type Contact = z.infer<typeof contactSchema>;

const standardUncertainty = measureOf('heightReading')
  .optional()
  .meta({ description: 'Standard uncertainty of the reading; the value of the rig when not given.' });
const station = measureOf('heightReading').optional().meta({
  description:
    'Horizontal distance of the place of reading from the ball centre, towards the butt; 45 mm when not given.',
});

export const tipHeightReadingSchema = z
  .discriminatedUnion('method', [
    z.strictObject({
      method: z.literal('shaftTopEdge'),
      topEdge: measureOf('heightReading'),
      station,
      standardUncertainty,
    }),
    z.strictObject({
      method: z.literal('shaftEdges'),
      topEdge: measureOf('heightReading'),
      bottomEdge: measureOf('heightReading'),
      station,
      standardUncertainty,
    }),
    z.strictObject({ method: z.literal('contactMark'), height: measureOf('heightReading'), standardUncertainty }),
    z.strictObject({
      method: z.literal('ring'),
      ring: z
        .number()
        .min(0)
        .meta({ description: 'Number of the ring (fractions allowed), counted from the ball centre.' }),
      ringStep: measureOf('heightReading').optional().meta({
        description: 'Height between neighbouring rings, when they are even; else the rig gives the height of each.',
      }),
      side: z
        .enum(['above', 'below'])
        .optional()
        .meta({ description: 'Required: an unsigned ring is refused, never taken as above.' }),
      edge: z.enum(['contact', 'top', 'bottom']).default('contact').meta({
        description:
          'What was read against the rings: the point of contact, or the top or bottom edge of the shaft at the station.',
      }),
      resolution: z.number().gt(0).max(10).optional().meta({
        description:
          'Smallest step that was told apart, in rings; when not given 1 for whole rings, 0.5 for halves, else 0.1.',
      }),
      station,
      standardUncertainty,
    }),
  ])
  .meta({ id: 'TipHeightReading' });
export type TipHeightReading = z.infer<typeof tipHeightReadingSchema>;

export const endings = ['atRest', 'cushion', 'pocketed', 'stoppedByHand', 'outOfView'] as const;
export type Ending = (typeof endings)[number];

export const outcomeSchema = z
  .strictObject({
    distance: measureOf('outcomeDistance'),
    standardUncertainty: measureOf('outcomeDistance').optional().meta({ description: '5 mm when not given.' }),
    firstCushionDistance: measureOf('outcomeDistance').optional().meta({
      description: 'Signed distance at which the cue ball first touched a cushion after the ball-ball impact.',
    }),
    objectBallPocketed: z.boolean().optional(),
    ended: z
      .enum(endings)
      .meta({ description: 'How the outcome ended; anything but atRest makes the distance a bound.' }),
  })
  .meta({ id: 'Outcome' });
export type Outcome = z.infer<typeof outcomeSchema>;

/** The same shot read again, by the same or another observer: the spread is a type A uncertainty. */
export const repeatReadingSchema = z
  .strictObject({
    observer: codeSchema.optional(),
    contact: contactSchema.optional(),
    tipHeight: tipHeightReadingSchema.optional(),
    outcomeDistance: measureOf('outcomeDistance').optional(),
  })
  .meta({ id: 'RepeatReading' });
export type RepeatReading = z.infer<typeof repeatReadingSchema>;

/** Where the film lies, and what proves it is the same film. */
export const clipSchema = z
  .strictObject({
    link: z
      .url({ protocol: /^https?$/ })
      .max(500)
      .meta({ description: 'Address of the film, http or https.' }),
    sha256: z
      .string()
      .regex(/^[0-9a-f]{64}$/)
      .meta({ description: 'SHA-256 of the file of the film: 64 hexadecimal digits, in lower case.' }),
  })
  .meta({ id: 'Clip' });

export const reportedSchema = z
  .strictObject({
    cueSpeed: measureOf('cueSpeed').optional(),
    cueAcceleration: measureOf('cueAcceleration').optional(),
    contactTime: measureOf('contactTime').optional(),
    tipOffset: measureOf('tipOffset').optional(),
  })
  .meta({
    id: 'Reported',
    description: "The lab's own values: compared with the recomputed ones, never used in place of a track.",
  });

export const labFlagNames = ['miscue', 'doubleHit', 'push', 'airborne', 'cushionBeforeOutcome'] as const;

export const shotInputSchema = z
  .strictObject({
    label: z
      .string()
      .regex(/^[\x21-\x7e](?:[\x20-\x7e]{0,78}[\x21-\x7e])?$/)
      .meta({ description: "The lab's own label of the shot: 1 to 80 printable ASCII characters." }),
    rig: gearReferenceSchema,
    cue: gearReferenceSchema.optional(),
    table: gearReferenceSchema.optional(),
    player: codeSchema.optional(),
    observer: codeSchema.optional(),
    sessionDate: calendarDateSchema.optional(),
    strokeStyle: codeSchema.optional().meta({ description: "The lab's code of the stroke style." }),
    grip: codeSchema.optional().meta({ description: "The lab's code of the grip." }),
    straight: z.boolean().default(true),
    objectBallDistance: measureOf('objectBallDistance').optional(),
    elevation: measureOf('elevation').optional(),
    cutAngle: measureOf('cutAngle')
      .optional()
      .meta({ description: 'Angle between shot line and line of centres at the ball-ball impact; 0 is full.' }),
    cueTrack: cueTrackSchema.optional(),
    ballTrack: ballTrackSchema.optional(),
    contact: contactSchema.optional(),
    tipHeight: tipHeightReadingSchema.optional(),
    ballSpeed: measureOf('ballSpeed').optional(),
    outcome: outcomeSchema.optional(),
    reported: reportedSchema.optional(),
    repeats: z.array(repeatReadingSchema).max(20).default([]),
    clip: clipSchema.optional(),
    labFlags: z.array(z.enum(labFlagNames)).max(labFlagNames.length).default([]),
    shared: z
      .boolean()
      .default(false)
      .meta({ description: 'Share with everybody now. Sharing belongs to the shot and is kept by later revisions.' }),
    note: storableText(0, 500).optional(),
  })
  .meta({ id: 'Shot' });
/** A shot after parsing (defaults filled in). */
export type Shot = z.output<typeof shotInputSchema>;
/** A shot as typed by a sender. */
export type ShotInput = z.input<typeof shotInputSchema>;
