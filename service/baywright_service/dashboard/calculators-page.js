// Every calculator offered, and every plug-in refused with the reason.

import { read } from "./api.js";
import { fill, h } from "./dom.js";

export async function calculatorsPage({ main, signal, title }) {
  const { items, refused } = await read("/v1/calculators", { signal });
  fill(
    main,
    title("Calculators"),
    h("p", { class: "soft lead" }, "Each answers one question by itself; a plan joins several for one machine."),
    items.length
      ? h(
          "ul",
          { class: "cards plain" },
          items.map((item) =>
            h(
              "li",
              { class: "card" },
              h("h2", null, h("a", { href: `#/calculators/${encodeURIComponent(item.name)}` }, item.title)),
              h("p", null, item.summary),
              h("p", { class: "soft small" }, `${item.name} ${item.version}`),
            ),
          ),
        )
      : h("p", null, "No calculator is installed."),
    refused.length
      ? h("section", null, h("h2", null, "Not offered"), h("ul", null, refused.map((each) => h("li", null, `${each.name} (${each.distribution}): ${each.reason}`))))
      : null,
  );
}
