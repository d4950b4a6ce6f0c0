/* A photo that was never taken: a worn face as a hand-held camera over the bench would see it, for the demo and for tests.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gio/gio.h>
#include "../inspection/ef-photo.h"
#include "ef-draw.h"

G_BEGIN_DECLS

#define EF_DEMO_PHOTO_WIDTH 1600
#define EF_DEMO_PHOTO_HEIGHT 1200

/* A JPEG with EXIF time. @marks: EfMark * of the face, drawn as they'd look in metal. @to_photo (or NULL) receives the true transform from the face (m, homogeneous) to px. The same
 * for the same input. */
GBytes *ef_demo_photo_make (const EfFaceChart *chart, GPtrArray *marks, double to_photo[9], GError **error);
/* Laid by a hand that is a px or two off at up to @n places of the chart; fewer where it has fewer to snap to. */
void ef_demo_photo_lay (EfPhoto *photo, const EfFaceChart *chart, const double to_photo[9], guint n);

G_END_DECLS
