// Everything here makes a page that already works without it a little better.
import { watchForms } from "../forms";
import { watchFinds } from "../find";
import { followPage } from "../live";

watchForms();
watchFinds();
followPage();
