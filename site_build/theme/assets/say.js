/* The words of the scripts, in the language of the page. A message is its English text with placeholders such as %(time)s;
   %% is a percent sign. The build puts the translations of a house in front of this file as window.handbookWords. */
(function () {
  "use strict";

  const words = window.handbookWords || { messages: {}, decimal: "." };
  const plain = !window.handbookWords, language = document.documentElement.lang || "en";

  window.handbookTell = function (message, values) {
    const text = Object.prototype.hasOwnProperty.call(words.messages, message) ? words.messages[message] : message;
    return text.replace(/%(?:\((\w+)\)s|%)/g, function (all, name) { return name ? String(values[name]) : "%"; });
  };
  /* A figure with the sign that the language has between ones and tenths. */
  window.handbookTell.figure = function (text) { return words.decimal === "." ? text : String(text).replace(/(\d)\.(?=\d)/g, "$1" + words.decimal); };
  /* A day or a moment as the language writes it; English days are the caller's own. */
  window.handbookTell.date = function (at, form) { return new Intl.DateTimeFormat(plain ? undefined : language, form).format(at); };
  window.handbookTell.isPlain = plain;
  /* A text with its languages: what stands between the two signs is the page's own, the rest of it English. */
  window.handbookTell.nodes = function (text) {
    if (plain) { return [document.createTextNode(text)]; }
    return text.split(/(\ufdd0[^\ufdd0\ufdd1]*\ufdd1)/).filter(Boolean).map(function (part) {
      const bare = part.replace(/[\ufdd0\ufdd1]/g, "");
      if (bare !== part || !/[A-Za-z]{2}/.test(bare)) { return document.createTextNode(bare); }
      const made = document.createElement("span");
      made.lang = "en";
      made.textContent = bare;
      return made;
    });
  };
}());
