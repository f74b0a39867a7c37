// What a browser does beyond the forms: it takes the secret of a code out of the address and sends it once.
"use strict";

const form = document.getElementById("pair");
const secret = location.hash.slice(1);
if (secret) {
  // Neither the list of visited pages nor whoever looks on shall have it.
  history.replaceState(null, "", location.pathname + location.search);
}
if (secret && form) {
  form.elements.code.value = secret;
  form.submit();
} else if (secret) {
  // A telephone that is paired, and was given another code.
  location.replace("/pair#" + secret);
}
