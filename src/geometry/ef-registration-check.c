/* Sets of pairs that determine no transform.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-registration-private.h"

#include <math.h>

#define SAME 1e-3 /* of the extent: two places that are one */
#define THIN 1e-2 /* breadth over length of a set of points: on one line */

typedef struct
{
  double x, y;
} Point;

static Point
point_of (const EfRegistrationPair *pair,
          gboolean photo)
{
  return photo ? (Point){ pair->x, pair->y } : (Point){ pair->u, pair->v };
}

/* Root mean square distances along and across the longest direction, of all but the one at @left_out. */
static void
extent (const EfRegistrationPair *pairs,
        guint n,
        guint left_out,
        gboolean photo,
        double *length,
        double *breadth)
{
  double mx = 0, my = 0, xx = 0, yy = 0, xy = 0, mean, root;
  guint count = 0;

  for (guint i = 0; i < n; i++)
    if (i != left_out)
      {
        Point p = point_of (&pairs[i], photo);

        mx += p.x;
        my += p.y;
        count++;
      }
  mx /= count;
  my /= count;
  for (guint i = 0; i < n; i++)
    if (i != left_out)
      {
        Point p = point_of (&pairs[i], photo);

        xx += (p.x - mx) * (p.x - mx);
        yy += (p.y - my) * (p.y - my);
        xy += (p.x - mx) * (p.y - my);
      }
  mean = (xx + yy) / 2;
  root = hypot ((xx - yy) / 2, xy);
  *length = sqrt ((mean + root) / count);
  *breadth = sqrt (MAX (mean - root, 0) / count);
}

static gboolean
check_same (const EfRegistrationPair *pairs,
            guint n,
            gboolean photo,
            GError **error)
{
  double length, breadth;

  extent (pairs, n, G_MAXUINT, photo, &length, &breadth);
  for (guint i = 0; i < n; i++)
    for (guint k = 0; k < i; k++)
      {
        Point a = point_of (&pairs[i], photo), b = point_of (&pairs[k], photo);

        if (hypot (a.x - b.x, a.y - b.y) > SAME * length)
          continue;
        g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "pairs %u and %u: expected two places, found one %s", k + 1, i + 1,
                     photo ? "on the photo" : "on the face");
        return FALSE;
      }

  return TRUE;
}

static gboolean
check_line (EfRegistrationModel model,
            const EfRegistrationPair *pairs,
            guint n,
            gboolean photo,
            GError **error)
{
  const char *where = photo ? "on the photo" : "on the face";
  double length, breadth;

  if (model == EF_REGISTRATION_SIMILARITY)
    return TRUE;
  extent (pairs, n, G_MAXUINT, photo, &length, &breadth);
  if (breadth < THIN * length)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "pairs: expected points round the face, found all on one line %s; set one well beside it", where);
      return FALSE;
    }
  /* Four points, no three on a line, are needed; a set has none such only where all but one lie on a line. */
  for (guint i = 0; model == EF_REGISTRATION_PROJECTIVE && i < n; i++)
    {
      extent (pairs, n, i, photo, &length, &breadth);
      if (breadth >= THIN * length)
        continue;
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY,
                   "pairs: expected two points or more beside any line, found all but pair %u on one line %s; set another beside it, or choose affine", i + 1, where);
      return FALSE;
    }

  return TRUE;
}

gboolean
ef_registration_check_pairs (EfRegistrationModel model,
                             const EfRegistrationPair *pairs,
                             guint n,
                             GError **error)
{
  guint least = ef_registration_least_pairs (model);

  if (n < least || n > EF_REGISTRATION_MOST_PAIRS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "pairs: expected %u to %u for a transform that is %s, found %u", least, EF_REGISTRATION_MOST_PAIRS,
                   ef_registration_model_name (model), n);
      return FALSE;
    }
  for (guint i = 0; i < n; i++)
    if (!isfinite (pairs[i].x) || !isfinite (pairs[i].y) || !isfinite (pairs[i].u) || !isfinite (pairs[i].v) || fabs (pairs[i].x) > 1e6
        || fabs (pairs[i].y) > 1e6 || fabs (pairs[i].u) > 1e3 || fabs (pairs[i].v) > 1e3)
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "pair %u: expected places on photo and face, found numbers out of all range", i + 1);
        return FALSE;
      }

  return check_same (pairs, n, TRUE, error) && check_same (pairs, n, FALSE, error)
         && check_line (model, pairs, n, TRUE, error) && check_line (model, pairs, n, FALSE, error);
}
