/* The words of the scripts, in the language of the page. A message is its English text with placeholders such as %(time)s;
   %% is a percent sign. The build puts the translations of a house in front of this file as window.handbookWords. */
(function () {
  "use strict";

  const words = window.handbookWords || { messages: {}, decimal: "." };
  /* Around a message that the house has not translated: noncharacters, which Unicode keeps for internal use. */
  const ENGLISH = "\ufdd2", END = "\ufdd3";
  const plain = !window.handbookWords, language = document.documentElement.lang || "en";

  const ATTRIBUTES = ["aria-label", "title", "placeholder", "data-label", "data-mine"];

  /* A placeholder without a value remains, for an element of the page: see around. */
  function tell(message, values = {}) {
    const isKnown = Object.hasOwn(words.messages, message);
    const filled = (all, name) => !name ? "%" : !(name in values) ? all : isKnown ? String(values[name]) : tell.bare(String(values[name]));
    const text = (isKnown ? words.messages[message] : message).replace(/%(?:\((\w+)\)s|%)/g, filled);
    return plain || isKnown ? text : ENGLISH + text + END;
  }
  /* The parts of a translated text around the elements at its placeholders. */
  tell.around = (text, elements) => {
    const said = text[0] === ENGLISH ? english : String;
    return tell.bare(text).split(/(%\(\w+\)s)/).filter(Boolean).map((part) => elements[part.slice(2, -2)] || said(part));
  };
  /* A translated text for something other than a page, such as a file. */
  tell.bare = (text) => text.replace(/[\ufdd2\ufdd3]/g, "");
  /* A figure with the decimal sign of the language. */
  tell.figure = (text) => words.decimal === "." ? text : String(text).replace(/(\d)\.(?=\d)/g, "$1" + words.decimal);
  /* A day or a time in the form of the language; the caller formats English days. */
  tell.date = (at, form) => new Intl.DateTimeFormat(plain ? undefined : language, form).format(at);
  tell.isPlain = plain;
  /* A text with its languages: the part between the two signs is in the page's language, the rest is English. */
  tell.nodes = (text) => plain ? [text] : text.split(/(\ufdd0[^\ufdd0\ufdd1]*\ufdd1)/).filter(Boolean).map((part) => {
    const bare = part.replace(/[\ufdd0\ufdd1]/g, "");
    return bare !== part || !/[A-Za-z]{2}/.test(bare) ? bare : english(bare);
  });
  window.handbookTell = tell;

  /* Untranslated text that a script puts into a page is marked as English. */
  function english(text) { return window.handbookParts.element("span", { lang: "en" }, text); }
  function markAttribute(element, name) {
    const text = element.getAttribute(name);
    if (text?.includes(ENGLISH)) { element.setAttribute(name, tell.bare(text)); }
  }
  function mark(node) {
    if (node.nodeType === Node.ELEMENT_NODE) {
      ATTRIBUTES.forEach((name) => markAttribute(node, name));
      [...node.childNodes].forEach(mark);
    }
    if (node.nodeType !== Node.TEXT_NODE || !node.data.includes(ENGLISH) || !node.parentElement) { return; }
    if (node.parentElement.tagName === "OPTION" || node.parentElement.namespaceURI !== document.documentElement.namespaceURI) {
      node.parentElement.setAttribute("lang", "en");
      node.data = tell.bare(node.data);
      return;
    }
    const parts = node.data.split(/(\ufdd2[^\ufdd2\ufdd3]*\ufdd3)/).filter(Boolean);
    node.replaceWith(...parts.map((part) => part[0] === ENGLISH ? english(tell.bare(part)) : tell.bare(part)));
  }
  function markChange(change) {
    if (change.type === "characterData") { mark(change.target); }
    if (change.type === "childList") { [...change.addedNodes].forEach(mark); }
    if (change.type === "attributes") { markAttribute(change.target, change.attributeName); }
  }
  if (!plain) {
    new MutationObserver((changes) => changes.forEach(markChange))
      .observe(document.documentElement, { subtree: true, childList: true, characterData: true, attributeFilter: ATTRIBUTES });
  }
}());
