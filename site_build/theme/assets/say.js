/* The words of the scripts, in the language of the page. A message is its English text with placeholders such as %(time)s;
   %% is a percent sign. The build puts the translations of a house in front of this file as window.handbookWords. */
(function () {
  "use strict";

  const words = window.handbookWords || { messages: {}, decimal: "." };
  /* Around a message that the house has not translated: noncharacters, which Unicode keeps for internal use. */
  const ENGLISH = "\ufdd2", END = "\ufdd3";
  const plain = !window.handbookWords, language = document.documentElement.lang || "en";

  /* A placeholder without a value remains, for an element of the page: see around. */
  window.handbookTell = (message, values) => {
    const isKnown = Object.hasOwn(words.messages, message);
    const text = (isKnown ? words.messages[message] : message).replace(/%(?:\((\w+)\)s|%)/g, (all, name) => !name ? "%" : values && name in values ? (isKnown ? String(values[name]) : window.handbookTell.bare(String(values[name]))) : all);
    return plain || isKnown ? text : ENGLISH + text + END;
  };
  /* The parts of a translated text around the elements at its placeholders. */
  window.handbookTell.around = (text, elements) => {
    const isEnglish = text[0] === ENGLISH;
    return window.handbookTell.bare(text).split(/(%\(\w+\)s)/).filter(Boolean).map((part) => elements[part.slice(2, -2)] || (isEnglish ? english(part) : document.createTextNode(part)));
  };
  /* A translated text for something other than a page, such as a file. */
  window.handbookTell.bare = (text) => text.replace(/[\ufdd2\ufdd3]/g, "");
  /* A figure with the decimal sign of the language. */
  window.handbookTell.figure = (text) => words.decimal === "." ? text : String(text).replace(/(\d)\.(?=\d)/g, "$1" + words.decimal);
  /* A day or a time in the form of the language; the caller formats English days. */
  window.handbookTell.date = (at, form) => new Intl.DateTimeFormat(plain ? undefined : language, form).format(at);
  window.handbookTell.isPlain = plain;
  /* A text with its languages: the part between the two signs is in the page's language, the rest is English. */
  window.handbookTell.nodes = (text) => {
    if (plain) { return [document.createTextNode(text)]; }
    return text.split(/(\ufdd0[^\ufdd0\ufdd1]*\ufdd1)/).filter(Boolean).map((part) => {
      const bare = part.replace(/[\ufdd0\ufdd1]/g, "");
      if (bare !== part || !/[A-Za-z]{2}/.test(bare)) { return document.createTextNode(bare); }
      const made = document.createElement("span");
      made.lang = "en";
      made.textContent = bare;
      return made;
    });
  };

  /* Untranslated text that a script puts into a page is marked as English. */
  function english(text) {
    const made = document.createElement("span");
    made.lang = "en";
    made.textContent = text;
    return made;
  }
  function mark(node) {
    if (node.nodeType !== Node.TEXT_NODE) { [...node.childNodes].forEach(mark); return; }
    if (!node.data.includes(ENGLISH) || !node.parentElement) { return; }
    if (node.parentElement.tagName === "OPTION" || node.parentElement.namespaceURI !== document.documentElement.namespaceURI) {
      node.parentElement.setAttribute("lang", "en");
      node.data = window.handbookTell.bare(node.data);
      return;
    }
    node.replaceWith(...node.data.split(/(\ufdd2[^\ufdd2\ufdd3]*\ufdd3)/).filter(Boolean).map((part) => {
      const bare = window.handbookTell.bare(part);
      return part[0] === ENGLISH ? english(bare) : document.createTextNode(bare);
    }));
  }
  if (!plain) {
    new MutationObserver((changes) => {
      changes.forEach((change) => {
        if (change.type === "characterData") { mark(change.target); }
        if (change.type === "childList") { [...change.addedNodes].forEach(mark); }
        const text = change.type === "attributes" && change.target.getAttribute(change.attributeName);
        if (text && text.includes(ENGLISH)) { change.target.setAttribute(change.attributeName, window.handbookTell.bare(text)); }
      });
    }).observe(document.documentElement, { subtree: true, childList: true, characterData: true, attributeFilter: ["aria-label", "title", "placeholder", "data-label", "data-mine"] });
  }
}());
