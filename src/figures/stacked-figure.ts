/**
 * Several plots, one under the other, as one SVG document with a title and a description for readers who do not see it.
 * The text is the same for the same plots: no identifiers that count up, coordinates rounded to hundredths of a pixel.
 */
import * as Plot from '@observablehq/plot';
import { parseHTML } from 'linkedom';
import { ink } from './palette.ts';

const { document } = parseHTML('<!doctype html><html><body></body></html>');

export interface Panel {
  readonly heading: string;
  readonly height: number;
  readonly options: Plot.PlotOptions;
}

export interface StackedFigure {
  readonly title: string;
  readonly description: string;
  /** Lines above the panels; the first is the largest. */
  readonly lines: readonly string[];
  readonly panels: readonly Panel[];
}

const width = 760;
const margin = 16;
const lineHeight = 18;
const headingHeight = 20;
const font = "system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
}

/** Rounds the numbers inside attributes; texts stay as written. */
function rounded(markup: string): string {
  return markup.replace(/="[^"]*"/g, (attribute) =>
    attribute.replace(/-?\d+\.\d{3,}(?:e-?\d+)?/g, (digits) => String(Math.round(Number(digits) * 100) / 100 + 0)),
  );
}

function drawn({ height, options }: Panel): string {
  const plot = Plot.plot({
    width: width - 2 * margin,
    height,
    marginLeft: 64,
    marginRight: 20,
    marginTop: 8,
    marginBottom: 28,
    className: 'plot',
    document: document as never,
    style: { fontFamily: font, fontSize: '12px', background: 'none' } as never,
    ...options,
  }) as unknown as { readonly outerHTML: string };
  // One style sheet for the document is enough.
  return rounded(plot.outerHTML).replace(/<style>[\s\S]*?<\/style>/g, '');
}

/** The SVG document. */
export function stackedFigure({ title, description, lines, panels }: StackedFigure): string {
  const parts: string[] = [];
  let y = margin;
  for (const [index, line] of lines.entries()) {
    y += lineHeight;
    const look =
      index === 0 ? `font-size="16" font-weight="600" fill="${ink.text}"` : `font-size="13" fill="${ink.quiet}"`;
    parts.push(`<text x="${margin}" y="${y}" ${look}>${escaped(line)}</text>`);
  }
  y += margin / 2;
  for (const panel of panels) {
    y += headingHeight;
    const { heading } = panel;
    parts.push(
      `<text x="${margin}" y="${y}" font-size="13" font-weight="600" fill="${ink.text}">${escaped(heading)}</text>`,
    );
    parts.push(`<g transform="translate(${margin},${y + 4})">${drawn(panel)}</g>`);
    y += panel.height + 12;
  }
  const height = y + margin;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}"`,
    ` role="img" aria-labelledby="figure-title figure-description" font-family="${escaped(font).replaceAll('"', '&quot;')}">`,
    `<title id="figure-title">${escaped(title)}</title>`,
    `<desc id="figure-description">${escaped(description)}</desc>`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    ...parts,
    '</svg>\n',
  ].join('');
}
