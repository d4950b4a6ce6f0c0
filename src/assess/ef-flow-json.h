/* The flow result in the results file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-flow-result.h"

#include <json-glib/json-glib.h>

G_BEGIN_DECLS

/* Units in the member names. */
JsonNode *ef_flow_result_to_json (const EfFlowResult *self);

G_END_DECLS
