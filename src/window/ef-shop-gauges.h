/* The shop's gauges in a window of their own: add, correct, retire.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store-gauges.h"

G_BEGIN_DECLS

#define EF_TYPE_SHOP_GAUGES (ef_shop_gauges_get_type ())
G_DECLARE_FINAL_TYPE (EfShopGauges, ef_shop_gauges, EF, SHOP_GAUGES, AdwWindow)

/* The store must outlive the window. Signal "changed" after each change of the list. */
EfShopGauges *ef_shop_gauges_show (GtkWidget *parent, EfStore *store);

G_END_DECLS
