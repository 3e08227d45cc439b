/** Numbers as the report writes them. */

/** With a sign, and at most the digits asked for. */
export function signed(value: number, digits: number): string {
  const text = value.toFixed(digits);
  return value > 0 ? `+${text}` : text;
}

/** A whole number with thin groups: 12 345. Rounded to two significant digits, for what is only an order of size. */
export function about(value: number): string {
  let step = 1;
  while (value / step >= 100) step *= 10;
  return grouped(Math.round(value / step) * step);
}

/** A whole number with a comma between thousands. */
export function grouped(value: number): string {
  return Math.round(value)
    .toString()
    .replace(/\B(?=(\d{3})+$)/g, ',');
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
