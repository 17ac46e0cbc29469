// This phone: its person, its language, whether it is ready for a field without reception.

import * as kept from "./kept.js";
import { deviceId } from "./entries.js";
import { button, el, say } from "./parts.js";
import { connection, soon } from "./sending.js";
import { _, languageNow, number } from "./words.js";

const LANGUAGES = [["en", "English"], ["de", "Deutsch"]];

async function ready() {
  const kept_here = Boolean(navigator.serviceWorker?.controller);
  const trials = await kept.fact("trials", null);
  const lasting = await navigator.storage?.persisted?.().catch(() => false);
  const room = await navigator.storage?.estimate?.().catch(() => null);
  const free = room?.quota ? Math.max(0, (room.quota - room.usage) / 1e6) : null;
  return [
    [_("Works without reception"), kept_here && trials ? _("yes") : _("not yet: open this page once with a connection")],
    [_("The phone may clear it by itself"), lasting ? _("no") : _("perhaps, when its memory runs short; send when you can")],
    [_("Room left"), free === null ? _("not known") : _("about {n} MB", { n: number(free) })],
    [_("Name of this phone"), await deviceId()],
    [_("Version"), document.querySelector("meta[name=version]").content],
  ];
}

export async function phonePage(root, ctx) {
  const lines = await ready();
  const who = await kept.fact("who", "");
  if (ctx.gone()) return;
  const name = el("input", { id: "who", type: "text", maxlength: 80, autocomplete: "name" });
  name.value = who;
  name.addEventListener("change", async () => {
    try {
      await kept.setFact("who", name.value.trim());
      say(_("Kept."));
    } catch {
      say(_("This phone is full. Send what waits, or save it as a file."), { wrong: true });
    }
  });
  const language = el("select", { id: "language" }, ...LANGUAGES.map(([value, text]) => {
    const option = el("option", { value, lang: value }, text);
    option.selected = value === languageNow();
    return option;
  }));
  language.addEventListener("change", () => ctx.speak(language.value));
  root.replaceChildren(
    el("div", { class: "field" }, el("label", { for: "who" }, _("Your name, as it stands in the records")), name),
    el("div", { class: "field" }, el("label", { for: "language" }, _("Language")), language),
    el("dl", {}, ...lines.map(([term, value]) => el("div", {}, el("dt", {}, term), el("dd", {}, value)))),
    clockLine(),
    el("div", { class: "row" }, button(_("Send now"), () => soon()), button(_("Get the trials anew"), () => ctx.refresh())),
    el("h2", {}, _("Put it among your apps")),
    el("p", {}, _("In the browser's menu choose “Add to home screen” or “Install”; the menu names differ from phone to phone. It then opens like an app and also works without reception.")),
  );
}

export function clockLine() {
  const minutes = Math.round(Math.abs(connection.off_s) / 60);
  const text = connection.off_s > 0
    ? _("This phone's clock is {n} minutes behind the farm's. Entries keep the phone's time and say so.", { n: number(minutes) })
    : _("This phone's clock is {n} minutes ahead of the farm's. Entries keep the phone's time and say so.", { n: number(minutes) });
  return el("p", { class: "note", hidden: minutes < 2 }, text);
}
