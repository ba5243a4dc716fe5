/** Order by code points, the same on every machine and in every language. */
export const codePointOrder = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
