import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: `${import.meta.dirname}/..`,
    include: ['test/**/*.test.ts'],
    testTimeout: 30_000,
    hookTimeout: 120_000,
    // one core would be kept free, which is half of a small machine
    maxWorkers: '100%',
  },
});
