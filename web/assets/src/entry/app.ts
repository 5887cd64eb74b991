// Everything here makes a page that already works without it a little better.
import { watchForms } from "../forms";
import { watchFinds } from "../find";
import { watchArrows } from "../arrows";
import { watchCompletes } from "../complete";
import { followPage } from "../live";
import { watchScans } from "../scan";
import { watchSignatures } from "../sign";
import { watchTotals } from "../total";

watchForms();
watchFinds();
watchArrows();
watchCompletes();
watchScans();
watchSignatures();
watchTotals();
followPage();
