import { readdirSync, readFileSync } from 'node:fs'
import { basename } from 'node:path'

/** The language with all keys. */
const ENGLISH = new URL('../../src/coldfield/words/en/', import.meta.url)
/** The group of words around every page. */
const SHELL = 'Shell'

const QUOTED = /["'`](\w+(?:\.[\w ]+)+)["'`]/g
const FAMILY = /`(\w+(?:\.\w+)*\.)\$\{/g

/**
 * Finds the words that each page of the app needs, from the keys in its modules, and writes them to `words.json` for the service.
 * Words that only messages of the service need are fetched by the first part of their code.
 *
 * @param {string} pages the end of the name of the module that loads the pages
 * @returns {import('vite').Plugin}
 */
export function wordsOfPages(pages) {
  return {
    name: 'words-of-pages',
    generateBundle() {
      const codes = everyCode()
      const entry = [...this.getModuleIds()].find((id) => this.getModuleInfo(id).isEntry)
      const table = [...this.getModuleIds()].find((id) => id.endsWith(pages))
      if (!entry || !table) this.error('no entry or no pages')
      const shell = said(this, reached(this, entry, table), codes)
      const needed = { [SHELL]: [...shell] }
      for (const page of this.getModuleInfo(table).dynamicallyImportedIds) {
        const own = said(this, reached(this, page, table), codes)
        needed[basename(page, '.svelte')] = [...own].filter((code) => !shell.has(code))
      }
      this.emitFile({ type: 'asset', fileName: 'words.json', source: JSON.stringify(needed) })
    },
  }
}

/** Every module that one module imports, directly, indirectly or later, without the pages. */
function reached(bundler, from, table) {
  const found = new Set()
  const left = [from]
  for (let id = left.pop(); id !== undefined; id = left.pop()) {
    const module = bundler.getModuleInfo(id)
    if (!module || found.has(id)) continue
    found.add(id)
    left.push(...module.importedIds, ...(id === table ? [] : module.dynamicallyImportedIds))
  }
  return found
}

/** The codes that these modules contain, directly or by a prefix. */
function said(bundler, modules, codes) {
  const text = [...modules].filter((id) => !id.includes('node_modules')).map((id) => bundler.getModuleInfo(id).code ?? '').join('\n')
  const quoted = new Set([...text.matchAll(QUOTED)].map(([, key]) => key))
  const families = [...new Set([...text.matchAll(FAMILY)].map(([, family]) => family))]
  return new Set(codes.filter((code) => quoted.has(code) || families.some((family) => code.startsWith(family))))
}

function everyCode() {
  const parts = readdirSync(ENGLISH).filter((name) => name.endsWith('.json') && name !== 'language.json')
  return parts.flatMap((name) => Object.keys(JSON.parse(readFileSync(new URL(name, ENGLISH), 'utf8')))).sort()
}
