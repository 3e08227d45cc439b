/** Contact frames: in order, inside the track, with something left after trimming. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { Contact } from '../../../shared/shot.ts';
import { trackFrames } from '../track-frames.ts';
import type { CheckInput } from './check-input.ts';

function checkOrder({ closedFrame, openFrame, countedFrames }: Contact, pointer: string): Fault[] {
  if (openFrame === undefined) return [];
  if (closedFrame === undefined) {
    return [fault('structure-invalid', `${pointer}/closedFrame`, undefined, 'closedFrame beside openFrame')];
  }
  if (openFrame <= closedFrame) {
    return [
      fault(
        'contact-frames-order',
        `${pointer}/openFrame`,
        `frame ${openFrame}`,
        `more than closedFrame, ${closedFrame}`,
      ),
    ];
  }
  if (countedFrames !== undefined && countedFrames !== openFrame - closedFrame) {
    const expected = `${openFrame - closedFrame}, the frames from closedFrame to openFrame, or no count beside them`;
    return [fault('structure-invalid', `${pointer}/countedFrames`, `${countedFrames} frames`, expected)];
  }
  return [];
}

/** Frames in contact before trimming, or null when not given or out of order. */
function contactFrames({ closedFrame, openFrame, countedFrames }: Contact): number | null {
  if (closedFrame === undefined || openFrame === undefined) return countedFrames ?? null;
  return openFrame > closedFrame ? openFrame - closedFrame : null;
}

function checkTrim(contact: Contact, holder: string): Fault[] {
  const trimmed = contact.trimmedStart + contact.trimmedEnd;
  const frames = contactFrames(contact);
  if (trimmed === 0 || frames === null || trimmed < frames) return [];
  const pointer = contact.trimmedStart > 0 ? `${holder}/trimmedStart` : `${holder}/trimmedEnd`;
  return [fault('trim-too-large', pointer, `${trimmed} frames trimmed`, `fewer than the ${frames} contact frames`)];
}

/** First contact must follow the first tracked frame, and the last one by at most two steps of the track. */
function checkInside(input: CheckInput): Fault[] {
  const { cueTrack, contact } = input.shot;
  const closedFrame = contact?.closedFrame;
  if (cueTrack === undefined || closedFrame === undefined) return [];
  const frames = trackFrames(cueTrack, input.gear?.captureRate ?? null);
  const first = frames?.[0];
  const last = frames?.at(-1);
  if (frames === null || first === undefined || last === undefined) return [];
  const step = Math.max(1, last - (frames.at(-2) ?? last));
  if (closedFrame > first && closedFrame <= last + 2 * step) return [];
  return [
    fault(
      'contact-outside-track',
      '/contact/closedFrame',
      `frame ${closedFrame}`,
      `a frame of the track, ${first} to ${last}`,
    ),
  ];
}

/** Faults: structure-invalid, contact-frames-order, contact-outside-track, trim-too-large; also of repeat readings. */
export function checkContact(input: CheckInput): Fault[] {
  const { contact, repeats } = input.shot;
  const own = (read: Contact | undefined, pointer: string): Fault[] =>
    read === undefined ? [] : [...checkOrder(read, pointer), ...checkTrim(read, pointer)];
  const again = repeats.flatMap((one, index) => own(one.contact, `/repeats/${index}/contact`));
  return [...own(contact, '/contact'), ...checkInside(input), ...again];
}
