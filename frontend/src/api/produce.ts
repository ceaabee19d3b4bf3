/** Change a document by writing into a draft; unchanged parts stay the same objects. */

interface Node {
  base: Record<PropertyKey, unknown>
  copy: Record<PropertyKey, unknown> | null
  parent: Node | null
  children: Map<object, Node>
  proxy: object
}

/** Return the document with the changes made to its draft, or the same document if there were none. */
export function produce<T extends object>(base: T, change: (draft: T) => void): T {
  const nodes = new WeakMap<object, Node>()

  function node(of: object, parent: Node | null): Node {
    const made: Node = { base: of as Node['base'], copy: null, parent, children: new Map(), proxy: {} }
    made.proxy = new Proxy(Array.isArray(of) ? [] : {}, handlerOf(made))
    nodes.set(made.proxy, made)
    return made
  }

  function edited(one: Node): Record<PropertyKey, unknown> {
    if (!one.copy) {
      one.copy = (Array.isArray(one.base) ? [...(one.base as unknown[])] : { ...one.base }) as Node['base']
      // JavaScript checks a list's length on the target of the proxy too.
      if (one.parent) edited(one.parent)
    }
    return one.copy
  }

  function handlerOf(one: Node): ProxyHandler<object> {
    const latest = (): Record<PropertyKey, unknown> => one.copy ?? one.base
    return {
      get: (_, key) => {
        const value = latest()[key]
        if (typeof value !== 'object' || value === null || nodes.has(value)) return value
        const known = one.children.get(value) ?? node(value, one)
        one.children.set(value, known)
        return known.proxy
      },
      set: (_, key, value) => {
        if (latest()[key] !== value || !(key in latest())) edited(one)[key] = value
        return true
      },
      deleteProperty: (_, key) => {
        if (key in latest()) Reflect.deleteProperty(edited(one), key)
        return true
      },
      has: (_, key) => key in latest(),
      ownKeys: () => Reflect.ownKeys(latest()),
      getOwnPropertyDescriptor: (_, key) => {
        const found = Reflect.getOwnPropertyDescriptor(latest(), key)
        return found && { ...found, configurable: key !== 'length' || !Array.isArray(latest()), writable: true }
      },
      defineProperty: (_, key, { value }) => {
        edited(one)[key] = value as unknown
        return true
      },
    }
  }

  function finished(one: Node): object {
    if (!one.copy) return one.base
    const { copy, base, children } = one
    for (const key of Object.keys(copy)) {
      const value = copy[key]
      const child = typeof value === 'object' && value !== null ? children.get(value) : undefined
      const settled = child ? finished(child) : value
      copy[key] = value === base[key] ? settled : plain(settled)
    }
    return copy
  }

  /** New values may contain drafts of old parts. */
  function plain(value: unknown): unknown {
    if (typeof value !== 'object' || value === null) return value
    const draft = nodes.get(value)
    if (draft) return finished(draft)
    const object = value as Record<string, unknown>
    for (const key of Object.keys(object)) {
      const settled = plain(object[key])
      if (settled !== object[key]) object[key] = settled
    }
    return object
  }

  const root = node(base, null)
  change(root.proxy as T)
  return finished(root) as T
}
