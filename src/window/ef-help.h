/* The help window: the job in short, page by page.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

void ef_help_show (GtkWindow *parent);

G_END_DECLS
