// Nodes out of data; the document is passed in.

type Child = Node | string | null;
type Attributes = Record<string, string | boolean | ((event: Event) => void)>;

/** Make nodes of one document. */
export type Maker = <Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  attributes?: Attributes,
  ...children: Child[]
) => HTMLElementTagNameMap[Tag];

function setAttribute(node: HTMLElement, name: string, value: Attributes[string]): void {
  if (typeof value === "function") node.addEventListener(name, value);
  else if (value === true) node.setAttribute(name, "");
  else if (value !== false) node.setAttribute(name, value);
}

/** Return the maker of a document's nodes; functions become listeners. */
export function makerFor(document: Document): Maker {
  return (tag, attributes = {}, ...children) => {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) setAttribute(node, name, value);
    node.append(...children.filter((child) => child !== null));
    return node;
  };
}
