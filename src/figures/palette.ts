/**
 * Colours that readers with any common colour vision tell apart: Okabe and Ito, Color Universal Design (2008), from
 * memory. Marks differ by shape as well, so that no figure rests on colour alone.
 */
export const palette = {
  black: '#000000',
  orange: '#E69F00',
  skyBlue: '#56B4E9',
  bluishGreen: '#009E73',
  yellow: '#F0E442',
  blue: '#0072B2',
  vermilion: '#D55E00',
  reddishPurple: '#CC79A7',
} as const;

export const ink = { text: '#1a1a1a', quiet: '#5a5a5a', rule: '#d0d0d0', shade: '#eef3f7' } as const;
