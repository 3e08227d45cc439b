/**
 * What people type for a unit, by dimension, and the code it stands for. Checked before UCUM, because UCUM reads
 * some of these as something else (mph is milliphot there, ft femtotonne, in nothing). The table is closed: what is
 * not here and not UCUM is refused.
 */
import type { Dimension } from './quantities.ts';

const lengthWords = {
  in: '[in_i]',
  inch: '[in_i]',
  inches: '[in_i]',
  '"': '[in_i]',
  '\u2033': '[in_i]',
  ft: '[ft_i]',
  foot: '[ft_i]',
  feet: '[ft_i]',
  yd: '[yd_i]',
  yard: '[yd_i]',
  yards: '[yd_i]',
  thou: '[mil_i]',
  metre: 'm',
  metres: 'm',
  meter: 'm',
  meters: 'm',
  millimetre: 'mm',
  millimetres: 'mm',
  millimeter: 'mm',
  millimeters: 'mm',
  centimetre: 'cm',
  centimetres: 'cm',
  centimeter: 'cm',
  centimeters: 'cm',
  '\u00b5m': 'um',
  '\u03bcm': 'um',
  micron: 'um',
  microns: 'um',
  pixel: 'px',
  pixels: 'px',
  balls: 'ball',
  diamonds: 'diamond',
} as const;

const scaleWords: Record<string, string> = {
  '\u00b5m/px': 'um/px',
  '\u03bcm/px': 'um/px',
  'in/px': '[in_i]/px',
  'inch/px': '[in_i]/px',
  'mm/pixel': 'mm/px',
  'm/pixel': 'm/px',
  'px/in': 'px/[in_i]',
  'px/inch': 'px/[in_i]',
  'pixels/mm': 'px/mm',
  'pixel/mm': 'px/mm',
  ppi: 'px/[in_i]',
};

const aliases: Readonly<Record<Dimension, Readonly<Record<string, string>>>> = {
  length: lengthWords,
  time: {
    sec: 's',
    second: 's',
    seconds: 's',
    msec: 'ms',
    millisecond: 'ms',
    milliseconds: 'ms',
    '\u00b5s': 'us',
    '\u03bcs': 'us',
    usec: 'us',
    microsecond: 'us',
    microseconds: 'us',
    frames: 'frame',
    minute: 'min',
    minutes: 'min',
  },
  speed: {
    fps: '[ft_i]/s',
    'ft/s': '[ft_i]/s',
    'in/s': '[in_i]/s',
    ips: '[in_i]/s',
    mph: '[mi_i]/h',
    'mi/h': '[mi_i]/h',
    kph: 'km/h',
    kmh: 'km/h',
    'km/hr': 'km/h',
    mps: 'm/s',
    'm.s-1': 'm/s',
    'm/sec': 'm/s',
    'm s-1': 'm/s',
    'm\u00b7s-1': 'm/s',
    'm s^-1': 'm/s',
  },
  acceleration: {
    'm/s^2': 'm/s2',
    'm/s\u00b2': 'm/s2',
    'm/s/s': 'm/s2',
    'm.s-2': 'm/s2',
    'm s-2': 'm/s2',
    'm s^-2': 'm/s2',
    'mm/s^2': 'mm/s2',
    'mm/s\u00b2': 'mm/s2',
    'cm/s^2': 'cm/s2',
    'cm/s\u00b2': 'cm/s2',
    'ft/s2': '[ft_i]/s2',
    'ft/s^2': '[ft_i]/s2',
    'ft/s\u00b2': '[ft_i]/s2',
    'in/s2': '[in_i]/s2',
    'in/s^2': '[in_i]/s2',
    'in/s\u00b2': '[in_i]/s2',
  },
  mass: {
    oz: '[oz_av]',
    ounce: '[oz_av]',
    ounces: '[oz_av]',
    lb: '[lb_av]',
    lbs: '[lb_av]',
    pound: '[lb_av]',
    pounds: '[lb_av]',
    gram: 'g',
    grams: 'g',
    kilogram: 'kg',
    kilograms: 'kg',
  },
  angle: {
    '\u00b0': 'deg',
    degree: 'deg',
    degrees: 'deg',
    radian: 'rad',
    radians: 'rad',
  },
  rate: {
    fps: '1/s',
    'frames/s': '1/s',
    'frame/s': '1/s',
    'frames/sec': '1/s',
    'frames per second': '1/s',
    '{frame}/s': '1/s',
    '/s': '1/s',
    's-1': '1/s',
    's^-1': '1/s',
    hertz: 'Hz',
    kfps: 'kHz',
  },
  one: { '': '1', '{R}': 'R', 'b/R': 'R', percent: '%' },
  scale: scaleWords,
  count: { '': '1', frames: 'frame' },
};

const lookup = new Map<Dimension, ReadonlyMap<string, string>>();
for (const [dimension, words] of Object.entries(aliases)) {
  lookup.set(dimension as Dimension, new Map(Object.entries(words)));
}

/** Code that an alias stands for within a dimension, or undefined. */
export function aliasedCode(text: string, dimension: Dimension): string | undefined {
  return lookup.get(dimension)?.get(text);
}

/** Aliases of a dimension. */
export function aliasesOf(dimension: Dimension): string[] {
  return Object.keys(aliases[dimension]);
}

/** Dimensions that know the alias. */
export function dimensionsOfAlias(text: string): Dimension[] {
  return (Object.keys(aliases) as Dimension[]).filter((dimension) => lookup.get(dimension)?.has(text));
}
