// What a browser does beyond the forms: it takes the secret of a code out of the address and sends it once.
"use strict";

const form = document.getElementById("pair");
const secret = location.hash.slice(1);
if (form && secret) {
  // Neither the list of visited pages nor whoever looks on shall have it.
  history.replaceState(null, "", location.pathname);
  form.elements.code.value = secret;
  form.submit();
}
