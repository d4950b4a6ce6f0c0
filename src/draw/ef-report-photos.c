/* The job's photos with what they show, as many as the program has at hand, no larger than a report needs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A report is made from an assessment, which knows photos by their digest only; whoever has read one hands its pixels over here, and every report drawn afterwards shows it.
 */
#include "config.h"

#include "ef-report-photos.h"
#include "ef-report-private.h"
#include "../photo/ef-photo-file.h"

#include <glib/gi18n-lib.h>
#include <string.h>

#define MOST_SIDE 900  /* px */
#define MOST_KEPT 150  /* pictures in memory */
#define QUALITY "80"
#define TALL 150.0     /* most, on the page */
#define GAP 10.0
#define SMALL_TALL 96.0 /* beside its face */
#define SMALL_IN_ROW 3

/* Pixels never change, so that threads share them; each drawing makes a surface of its own. */
typedef struct
{
  gint ref_count;
  GdkPixbuf *pixbuf;
  GBytes *jpeg; /* the same, as PDF takes it; NULL */
} Kept;

static GMutex lock;
static GHashTable *all; /* digest/turns -> Kept * */

static void
kept_unref (gpointer data)
{
  Kept *kept = data;

  if (!g_atomic_int_dec_and_test (&kept->ref_count))
    return;
  g_object_unref (kept->pixbuf);
  g_clear_pointer (&kept->jpeg, g_bytes_unref);
  g_free (kept);
}

static char *
key_of (const EfPhoto *photo)
{
  return g_strdup_printf ("%s/%d", photo->file, photo->turns);
}

static GdkPixbuf *
made_small (GdkPixbuf *pixbuf)
{
  int width = gdk_pixbuf_get_width (pixbuf), height = gdk_pixbuf_get_height (pixbuf), longer = MAX (width, height);

  if (longer <= MOST_SIDE)
    return g_object_ref (pixbuf);

  return gdk_pixbuf_scale_simple (pixbuf, MAX (1, width * MOST_SIDE / longer), MAX (1, height * MOST_SIDE / longer), GDK_INTERP_BILINEAR);
}

static cairo_surface_t *
surface_of (const Kept *kept)
{
  GdkPixbuf *pixbuf = kept->pixbuf;
  int width = gdk_pixbuf_get_width (pixbuf), height = gdk_pixbuf_get_height (pixbuf), n = gdk_pixbuf_get_n_channels (pixbuf);
  const guint8 *pixels = gdk_pixbuf_read_pixels (pixbuf);
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, width, height);
  guint8 *data = cairo_image_surface_get_data (surface);
  int stride = cairo_image_surface_get_stride (surface);

  for (int y = 0; data != NULL && y < height; y++)
    for (int x = 0; x < width; x++)
      {
        const guint8 *p = pixels + y * (gsize) gdk_pixbuf_get_rowstride (pixbuf) + x * n;

        ((guint32 *) (data + y * (gsize) stride))[x] = (guint32) p[0] << 16 | (guint32) p[1] << 8 | p[2];
      }
  cairo_surface_mark_dirty (surface);
  if (kept->jpeg != NULL
      && cairo_surface_set_mime_data (surface, CAIRO_MIME_TYPE_JPEG, g_bytes_get_data (kept->jpeg, NULL), g_bytes_get_size (kept->jpeg),
                                      (cairo_destroy_func_t) g_bytes_unref, g_bytes_ref (kept->jpeg)) != CAIRO_STATUS_SUCCESS)
    g_bytes_unref (kept->jpeg);

  return surface;
}

void
ef_report_keep_photo (const EfPhoto *photo,
                      GdkPixbuf *turned)
{
  Kept *kept = g_new0 (Kept, 1);
  char *jpeg = NULL;
  gsize length;

  kept->ref_count = 1;
  kept->pixbuf = made_small (turned);
  if (gdk_pixbuf_save_to_buffer (kept->pixbuf, &jpeg, &length, "jpeg", NULL, "quality", QUALITY, NULL))
    kept->jpeg = g_bytes_new_take (jpeg, length);
  g_mutex_lock (&lock);
  if (all == NULL)
    all = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, kept_unref);
  if (g_hash_table_size (all) >= MOST_KEPT)
    g_hash_table_remove_all (all);
  g_hash_table_insert (all, key_of (photo), kept);
  g_mutex_unlock (&lock);
}

/* A reference; NULL: not at hand. */
static Kept *
find_kept (const EfPhoto *photo)
{
  g_autofree char *key = key_of (photo);
  Kept *kept;

  g_mutex_lock (&lock);
  kept = all != NULL ? g_hash_table_lookup (all, key) : NULL;
  if (kept != NULL)
    g_atomic_int_inc (&kept->ref_count);
  g_mutex_unlock (&lock);

  return kept;
}

static gboolean
is_kept (const EfPhoto *photo)
{
  Kept *kept = find_kept (photo);

  if (kept != NULL)
    kept_unref (kept);

  return kept != NULL;
}

guint
ef_report_photos_missing (const EfInspection *inspection)
{
  const GPtrArray *photos = inspection->items[EF_ITEM_PHOTO];
  guint missing = 0;

  for (guint i = 0; i < photos->len; i++)
    missing += !is_kept (photos->pdata[i]);

  return missing;
}

void
ef_report_take_photos (EfStore *store,
                       const EfInspection *inspection,
                       GCancellable *cancellable,
                       GString *trouble)
{
  const GPtrArray *photos = inspection->items[EF_ITEM_PHOTO];

  for (guint i = 0; i < photos->len && !g_cancellable_is_cancelled (cancellable); i++)
    {
      const EfPhoto *photo = photos->pdata[i];
      g_autoptr (GError) local = NULL;
      g_autoptr (GdkPixbuf) turned = NULL;

      if (is_kept (photo))
        continue;
      turned = ef_photo_load (store, photo, MOST_SIDE, TRUE, cancellable, &local);
      if (turned != NULL)
        ef_report_keep_photo (photo, turned);
      else if (trouble != NULL && !g_error_matches (local, EF_ERROR, EF_ERROR_NOT_FOUND) && !g_error_matches (local, EF_ERROR, EF_ERROR_CANCELLED))
        g_string_append_printf (trouble, _("photo %s isn't shown: %s\n"), photo->name, local->message);
    }
}

static void
draw_photo (cairo_t *cr,
            const EfDrawStyle *style,
            gpointer data,
            double width,
            double height)
{
  const Kept *kept = data;
  cairo_surface_t *surface = surface_of (kept);

  cairo_scale (cr, width / gdk_pixbuf_get_width (kept->pixbuf), height / gdk_pixbuf_get_height (kept->pixbuf));
  cairo_set_source_surface (cr, surface, 0, 0);
  cairo_paint (cr);
  cairo_surface_destroy (surface);
}

/* "Separator side A.jpg: Separator plate, side A, taken 2026-03-09 10:42:00 by the camera's clock. SHA-256 1b2c…" and the note. */
static char *
caption_of (const EfAssessment *assessment,
            const EfPhoto *photo,
            gboolean there)
{
  g_autoptr (GString) text = g_string_new (photo->name);
  g_autofree char *shows = photo->shows != NULL ? ef_report_target (assessment, photo->shows) : NULL;
  g_autofree char *taken = photo->taken != NULL ? g_strdelimit (g_strdup (photo->taken), "T", ' ') : NULL;

  if (shows != NULL)
    g_string_append_printf (text, ": %s", shows);
  if (taken != NULL)
    g_string_append_printf (text, _(", taken %s by the camera's clock"), taken);
  g_string_append_printf (text, _(". SHA-256 %s."), photo->file);
  if (!there)
    g_string_append_printf (text, " %s", _("Not shown: its file isn't at hand."));
  if (photo->note != NULL)
    g_string_append_printf (text, "\n%s", photo->note);

  return g_string_free (g_steal_pointer (&text), FALSE);
}

/* The picture at the left, its words beside it. */
static void
lay_photo (EfPages *pages,
           const EfAssessment *assessment,
           const EfPhoto *photo)
{
  Kept *kept = find_kept (photo);
  g_autofree char *caption = caption_of (assessment, photo, kept != NULL);
  g_autoptr (PangoLayout) layout = NULL;
  double width = 0, height = 0, words;
  int tall;

  if (kept != NULL)
    {
      double w = gdk_pixbuf_get_width (kept->pixbuf), h = gdk_pixbuf_get_height (kept->pixbuf);
      double share = MIN (0.45 * ef_pages_width (pages) / w, TALL / h);

      width = share * w;
      height = share * h;
    }
  layout = ef_pages_layout (pages, caption, 0.9, 0, ef_pages_width (pages) - (width > 0 ? width + GAP : 0));
  pango_layout_get_size (layout, NULL, &tall);
  words = tall / (double) PANGO_SCALE;
  ef_pages_need (pages, MAX (height, words) + GAP);
  if (kept != NULL)
    ef_pages_picture (pages, 0, 0, width, height, draw_photo, kept, kept_unref);
  ef_pages_put (pages, layout, EF_INK_TEXT, width > 0 ? width + GAP : 0, 0);
  ef_pages_move (pages, MAX (height, words) + GAP);
}

/* --- Beside a face ---------------------------------------------------------------------------------------------------------- */

typedef struct
{
  Kept *kept;
  EfPhoto *photo; /* a reference */
} Small;

static void
small_free (gpointer data)
{
  Small *small = data;

  kept_unref (small->kept);
  ef_item_unref (small->photo);
  g_free (small);
}

/* Ringed and numbered, light under dark so that it shows on any photo. */
static void
draw_place (cairo_t *cr,
            const EfDrawStyle *style,
            guint number,
            double x,
            double y)
{
  g_autofree char *text = g_strdup_printf ("%u", number);
  double size = 0.7 * style->text_size;

  for (int pass = 0; pass < 2; pass++)
    {
      cairo_set_source_rgb (cr, !pass, !pass, !pass);
      cairo_set_line_width (cr, pass ? 0.6 : 1.8);
      cairo_new_path (cr);
      cairo_arc (cr, x, y, 2.6, 0, 2 * G_PI);
      cairo_stroke (cr);
    }
  ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, text, x + 3.4, y - 1, 0, 0.5);
}

static void
draw_small (cairo_t *cr,
            const EfDrawStyle *style,
            gpointer data,
            double width,
            double height)
{
  const Small *small = data;
  int turned_width, turned_height;

  cairo_save (cr);
  draw_photo (cr, style, small->kept, width, height);
  cairo_restore (cr);
  ef_photo_turned_size (small->photo, &turned_width, &turned_height);
  for (guint i = 0; i < small->photo->pairs->len; i++)
    {
      const EfRegistrationPair *pair = &g_array_index (small->photo->pairs, EfRegistrationPair, i);
      double x, y;

      ef_photo_turn_point (small->photo, pair->x, pair->y, &x, &y);
      draw_place (cr, style, i + 1, x * width / turned_width, y * height / turned_height);
    }
}

/* "IMG 0412.jpg, 2026-03-09 10:42, SHA-256 1b2c3d4e…; laid by 6 places." and the note. */
static char *
small_caption (const EfPhoto *photo,
               gboolean there)
{
  g_autoptr (GString) text = g_string_new (photo->name);
  g_autofree char *taken = photo->taken != NULL ? g_strdelimit (g_strdup (photo->taken), "T", ' ') : NULL;
  g_autofree char *begin = g_strndup (photo->file, 8);

  if (taken != NULL)
    g_string_append_printf (text, ", %s", taken);
  g_string_append_printf (text, _(", SHA-256 %s…"), begin);
  if (photo->pairs->len > 0)
    g_string_append_printf (text, ngettext ("; laid by %u place", "; laid by %u places", photo->pairs->len), photo->pairs->len);
  if (!there)
    g_string_append_printf (text, ". %s", _("Not shown: its file isn't at hand."));
  if (photo->note != NULL)
    g_string_append_printf (text, "\n%s", photo->note);

  return g_string_free (g_steal_pointer (&text), FALSE);
}

/* One of a row: what goes where is known before the page is. */
typedef struct
{
  Kept *kept; /* taken over by the page; NULL: words alone */
  PangoLayout *caption;
  double width, height, words;
} Cell;

static Cell
make_cell (EfPages *pages,
           const EfPhoto *photo,
           double width)
{
  Cell cell = { .kept = find_kept (photo) };
  g_autofree char *caption = small_caption (photo, cell.kept != NULL);

  if (cell.kept != NULL)
    {
      double w = gdk_pixbuf_get_width (cell.kept->pixbuf), h = gdk_pixbuf_get_height (cell.kept->pixbuf), share = MIN (width / w, SMALL_TALL / h);

      cell.width = share * w;
      cell.height = share * h;
    }
  cell.caption = ef_pages_layout (pages, caption, 0.85, 0, width);
  ef_text_extent (cell.caption, NULL, &cell.words);

  return cell;
}

static void
lay_row (EfPages *pages,
         EfPhoto *const *photos,
         guint n)
{
  double width = (ef_pages_width (pages) - (SMALL_IN_ROW - 1) * GAP) / SMALL_IN_ROW, picture = 0, words = 0;
  Cell cells[SMALL_IN_ROW];

  for (guint i = 0; i < n; i++)
    {
      cells[i] = make_cell (pages, photos[i], width);
      picture = MAX (picture, cells[i].height);
      words = MAX (words, cells[i].words);
    }
  if (picture > 0)
    picture += 2;
  ef_pages_need (pages, picture + words + GAP);
  for (guint i = 0; i < n; i++)
    {
      double x = i * (width + GAP);

      if (cells[i].kept != NULL)
        {
          Small *small = g_new0 (Small, 1);

          small->kept = cells[i].kept;
          small->photo = ef_item_ref (photos[i]);
          ef_pages_picture (pages, x, 0, cells[i].width, cells[i].height, draw_small, small, small_free);
        }
      ef_pages_put (pages, cells[i].caption, EF_INK_TEXT, x, picture);
      g_object_unref (cells[i].caption);
    }
  ef_pages_move (pages, picture + words + GAP);
}

void
ef_report_face_photos (EfPages *pages,
                       const EfAssessment *assessment,
                       const char *face_id)
{
  const GPtrArray *all_photos = assessment->inspection->items[EF_ITEM_PHOTO];
  g_autoptr (GPtrArray) photos = g_ptr_array_new ();

  for (guint i = 0; i < all_photos->len; i++)
    if (ef_photo_of_face (all_photos->pdata[i], face_id))
      g_ptr_array_add (photos, all_photos->pdata[i]);
  if (photos->len > 0)
    {
      g_autofree char *face = ef_report_target (assessment, face_id);
      g_autofree char *title = g_strdup_printf (_("Photos of %s"), face);

      ef_pages_space (pages, 4);
      ef_pages_subheading (pages, title, SMALL_TALL + 30);
    }
  for (guint i = 0; i < photos->len; i += SMALL_IN_ROW)
    lay_row (pages, (EfPhoto *const *) photos->pdata + i, MIN (SMALL_IN_ROW, photos->len - i));
}

/* --- The section of them all ------------------------------------------------------------------------------------------------- */

void
ef_report_photos (EfPages *pages,
                  const EfAssessment *assessment)
{
  GPtrArray *photos = assessment->inspection->items[EF_ITEM_PHOTO];

  if (photos->len == 0)
    return;
  ef_pages_heading (pages, _("Photos"), TALL + GAP);
  ef_pages_space (pages, 4);
  for (guint i = 0; i < photos->len; i++)
    lay_photo (pages, assessment, photos->pdata[i]);
}
