/* How sure the hot-idle pressure is, in words: to first order, and with the clearances drawn at random.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-flow-result.h"

G_BEGIN_DECLS

/* The interval that the ± of the pressure as found stands for, Pa. FALSE where it isn't known. */
gboolean ef_flow_first_order (const EfFlowResult *flow, double *low_out, double *high_out);
/* What was drawn, and how likely the pressure is below the pump sheet's. NULL where nothing was drawn. */
char *ef_flow_drawn_words (const EfFlowResult *flow);
/* Whether both ways say the same, and if not, which to believe and why. NULL unless both are known. */
char *ef_flow_agreement_words (const EfFlowResult *flow);

G_END_DECLS
