import { defineConfig } from 'vitest/config';

/** Long checks against stored values of a reference program; not part of `npm test`. */
export default defineConfig({
  test: {
    root: `${import.meta.dirname}/..`,
    include: ['test/**/*.golden.ts'],
    testTimeout: 120_000,
  },
});
