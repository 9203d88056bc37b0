// The import direction of the project: core <- lessons, study, formats <- cli, web. Read by `npm run check:arrows` and
// by tests/architecture.test.ts. CommonJS because the tool reads its settings with require().
const arrow = (from, allowed, comment) => ({
  name: `only-allowed-from-${from}`,
  comment,
  severity: 'error',
  from: { path: `^src/${from}/` },
  to: { path: '^src/', pathNot: `^src/(${allowed.join('|')})/` },
});

// The only packages that core may lean on: each is pure JavaScript with no clock, DOM or Node of its own.
const corePackages = ['seedrandom', '@types/seedrandom', '@sinclair/typebox', '@noble/hashes', 'ml-matrix'];

module.exports = {
  forbidden: [
    arrow('core', ['core'], 'core knows nothing outside itself'),
    arrow('formats', ['formats', 'core'], 'formats read and write what core defines'),
    arrow('lessons', ['lessons', 'core'], 'lessons judge what core computes'),
    arrow('study', ['study', 'formats', 'core'], 'studies run core and write tables'),
    arrow('cli', ['cli', 'study', 'lessons', 'formats', 'core'], 'the terminal never reaches into the page'),
    arrow('web', ['web', 'study', 'lessons', 'formats', 'core'], 'the page never reaches into the terminal'),
    {
      name: 'known-folders-only',
      comment: 'a file outside these folders would escape every arrow above',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/(core|formats|lessons|study|cli|web)/' },
      to: {},
    },
    {
      name: 'core-stays-pure',
      comment: 'core imports no Node module and only the packages listed in this file',
      severity: 'error',
      from: { path: '^src/core/' },
      to: {
        pathNot: ['^src/', `(^|/)node_modules/(${corePackages.join('|')})/`],
      },
    },
    {
      name: 'source-only',
      comment: 'src never imports tests, settings or anything else of the checkout',
      severity: 'error',
      from: { path: '^src/' },
      to: {
        pathNot: ['^src/', '(^|/)node_modules/', '^lessons/', '^assets/', '^package\\.json$'],
        dependencyTypes: ['local'],
      },
    },
    {
      name: 'page-has-no-node',
      comment: 'these folders are bundled into the page, where no Node module exists; engines of studies are not',
      severity: 'error',
      from: { path: '^src/((formats|lessons|web)/|study/(?!engines/))' },
      to: { dependencyTypes: ['core'] },
    },
    { name: 'no-circular', severity: 'error', from: {}, to: { circular: true } },
    { name: 'resolvable', severity: 'error', from: {}, to: { couldNotResolve: true } },
  ],
  options: {
    // Without this the tool asks for a TypeScript older than ours, reads zero modules and reports no violation.
    parser: 'swc',
    tsPreCompilationDeps: true,
    doNotFollow: { path: 'node_modules' },
    enhancedResolveOptions: {
      extensions: ['.ts', '.mjs', '.js', '.json'],
      exportsFields: ['exports'],
      conditionNames: ['import', 'require', 'node', 'default', 'types'],
      mainFields: ['module', 'main', 'types'],
    },
  },
};
