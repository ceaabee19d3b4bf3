import js from '@eslint/js'
import svelte from 'eslint-plugin-svelte'
import globals from 'globals'
import ts from 'typescript-eslint'

import svelteConfig from './svelte.config.js'

export default ts.config(
  { ignores: ['node_modules/', '.svelte-check/', 'dist/', 'src/api/schema.d.ts', 'src/api/fields.ts', 'src/words/keys.d.ts', 'src/clock/day_schema.d.ts'] },
  js.configs.recommended,
  ...ts.configs.strict,
  ...svelte.configs.recommended,
  { languageOptions: { globals: { ...globals.browser } } },
  { files: ['*.js', '*.ts', 'bundle/**'], languageOptions: { globals: { ...globals.node } } },
  {
    files: ['clock-worker.js'],
    languageOptions: { globals: globals.serviceworker },
  },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser, svelteConfig } },
  },
  {
    rules: {
      'max-lines': ['error', { max: 250, skipBlankLines: true, skipComments: true }],
      'no-undef': 'off', // the types check that
      // A page receives its address even if it does not use it.
      '@typescript-eslint/no-unused-vars': ['error', { varsIgnorePattern: '^_$' }],
    },
  },
)
