// The token of the service, traded once for a cookie that no script can read.

import { ask } from "./api.js";
import { fill, h } from "./dom.js";

/** Ask for the token; `done` shows the page that was asked for. */
export function signInPage({ main, title, done }) {
  const input = h("input", { id: "token", type: "password", autocomplete: "current-password", required: true });
  const fault = h("p", { class: "fault", role: "alert" });
  const send = async (event) => {
    event.preventDefault();
    fault.textContent = "";
    try {
      const headers = { Authorization: `Bearer ${input.value.trim()}` };
      await ask("/dashboard/session", { method: "POST", headers });
      done();
    } catch (error) {
      fault.textContent = error.status === 401 ? "That is not the token of this service." : error.message;
      input.focus();
    }
  };
  fill(
    main,
    title("Sign in"),
    h("p", null, "This service can be reached from other devices, so it asks for its token once. ",
      "Whoever started it finds the token in BAYWRIGHT_TOKEN or in the file that BAYWRIGHT_TOKEN_FILE names."),
    h(
      "form",
      { class: "sign-in", on: { submit: send } },
      h("div", { class: "field" }, h("label", { for: "token" }, "Token"), input, fault),
      h("button", { type: "submit", class: "primary" }, "Sign in"),
    ),
  );
}
