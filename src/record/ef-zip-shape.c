/* The tables of a zip file, against each other (APPNOTE 4.3, as ISO/IEC 21320-1 narrows it).
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-zip.h"

#include <string.h>
#include <sys/stat.h>

#define END_SIZE 22
#define ENTRY_SIZE 46
#define LOCAL_SIZE 30
#define DESCRIPTOR_SIZE 16
#define NAME_LONGEST 128

typedef struct
{
  const guint8 *data;
  gsize length;
  const char *name; /* of the file, for messages */
  GHashTable *seen; /* members, folded */
  guint64 end;      /* of the members so far */
  guint64 unpacked;
} Shape;

static guint32
u16 (const guint8 *at)
{
  return (guint32) at[0] | (guint32) at[1] << 8;
}

static guint32
u32 (const guint8 *at)
{
  return u16 (at) | u16 (at + 2) << 16;
}

static gboolean
refuse (const Shape *shape,
        GError **error,
        int code,
        const char *format,
        ...) G_GNUC_PRINTF (4, 5);

static gboolean
refuse (const Shape *shape,
        GError **error,
        int code,
        const char *format,
        ...)
{
  g_autofree char *words = NULL;
  va_list args;

  va_start (args, format);
  words = g_strdup_vprintf (format, args);
  va_end (args);
  g_set_error (error, EF_ERROR, code, "%s: %s", shape->name, words);

  return FALSE;
}

gboolean
ef_zip_name_is_plain (const char *name)
{
  gsize length = strlen (name);

  if (length == 0 || length > NAME_LONGEST || name[length - 1] == '/')
    return FALSE;
  for (gsize i = 0; i < length; i++)
    {
      gboolean first = i == 0 || name[i - 1] == '/';

      if (name[i] == '/' ? first : !(g_ascii_isalnum (name[i]) || (!first && strchr ("._-", name[i]) != NULL)))
        return FALSE;
    }

  return TRUE;
}

/* Says what is wrong with it as exactly as it can. */
static gboolean
check_name (Shape *shape,
            const guint8 *at,
            gsize length,
            GError **error)
{
  g_autofree char *name = g_strndup ((const char *) at, length);
  g_autofree char *shown = g_utf8_make_valid (name, (gssize) MIN (strlen (name), NAME_LONGEST));
  g_autofree char *escaped = g_strescape (shown, NULL);

  if (strlen (name) != length)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a name, found one with a NUL in it", escaped);
  if (!g_utf8_validate (name, -1, NULL))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a name in UTF-8, found other bytes", escaped);
  if (*name == '/' || strchr (name, '\\') != NULL || strchr (name, ':') != NULL)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a name within the pack, found an absolute path", escaped);
  if (strstr (name, "..") != NULL)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a name within the pack, found a path that may lead out of it", escaped);
  if (g_str_has_suffix (name, "/"))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a file, found a folder", escaped);
  if (!ef_zip_name_is_plain (name))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a name of letters, digits, \".\", \"_\", \"-\", found another", escaped);
  if (!g_hash_table_add (shape->seen, g_ascii_strdown (name, -1)))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected it once, found it twice", escaped);

  return TRUE;
}

/* The header beside the data says the same as the entry in the directory at the end, and the members follow one another without a gap. */
static gboolean
check_local (Shape *shape,
             const guint8 *entry,
             guint64 before,
             GError **error)
{
  guint64 at = u32 (entry + 42), packed = u32 (entry + 20);
  guint32 name = u16 (entry + 28), flags = u16 (entry + 8);
  const guint8 *local = shape->data + at;
  g_autofree char *shown = g_strndup ((const char *) entry + ENTRY_SIZE, name);

  if (at != shape->end || at + LOCAL_SIZE + name > before || memcmp (local, "PK\3\4", 4) != 0)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected it to follow the one before it, found a gap, hidden bytes or another place", shown);
  if (u16 (local + 26) != name || memcmp (local + LOCAL_SIZE, entry + ENTRY_SIZE, name) != 0)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected the same name in both of its headers, found two", shown);
  if (u16 (local + 6) != flags || u16 (local + 8) != u16 (entry + 10))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected its two headers to agree on how it is packed, found that they don't", shown);
  if ((flags & 8) == 0 && (memcmp (local + 14, entry + 16, 12) != 0))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected its two headers to agree on size and CRC, found that they don't", shown);
  shape->end = at + LOCAL_SIZE + name + u16 (local + 28) + packed;
  if ((flags & 8) != 0)
    {
      const guint8 *descriptor = shape->data + shape->end;

      if (shape->end + DESCRIPTOR_SIZE > before || memcmp (descriptor, "PK\7\10", 4) != 0 || memcmp (descriptor + 4, entry + 16, 12) != 0)
        return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected size and CRC after it as in the directory, found others", shown);
      shape->end += DESCRIPTOR_SIZE;
    }
  if (shape->end > before)
    return refuse (shape, error, EF_ERROR_CORRUPT, "member \"%s\": expected %" G_GUINT64_FORMAT " bytes of it, found fewer", shown, packed);

  return TRUE;
}

static gboolean
check_entry (Shape *shape,
             const guint8 *entry,
             guint64 before,
             GError **error)
{
  guint32 flags = u16 (entry + 8), method = u16 (entry + 10), name = u16 (entry + 28), mode = u32 (entry + 38) >> 16;
  guint64 packed = u32 (entry + 20), unpacked = u32 (entry + 24);
  g_autofree char *shown = NULL;

  if (!check_name (shape, entry + ENTRY_SIZE, name, error))
    return FALSE;
  shown = g_strndup ((const char *) entry + ENTRY_SIZE, name);
  if ((flags & 0x2041) != 0)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected one that anybody can read, found it encrypted", shown);
  if (S_ISLNK (mode))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a file, found a link", shown);
  if ((mode & S_IFMT) != 0 && !S_ISREG (mode))
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected a file, found something else", shown);
  if (method != 0 && method != 8)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": expected it stored or deflated, found method %u", shown, method);
  if (unpacked > EF_ZIP_MEMBER_LARGEST)
    return refuse (shape, error, EF_ERROR_RANGE, "member \"%s\": expected at most %u MiB, found more", shown, EF_ZIP_MEMBER_LARGEST >> 20);
  shape->unpacked += unpacked;
  if (shape->unpacked > EF_ZIP_LARGEST)
    return refuse (shape, error, EF_ERROR_RANGE, "expected at most %u MiB in all, found more", (guint) (EF_ZIP_LARGEST >> 20));
  if ((method == 0 && packed != unpacked) || unpacked > 1100 * packed + 64)
    return refuse (shape, error, EF_ERROR_PARSE, "member \"%s\": its sizes, %" G_GUINT64_FORMAT " bytes packed and %" G_GUINT64_FORMAT " unpacked, can't be", shown, packed, unpacked);

  return check_local (shape, entry, before, error);
}

static gboolean
check_directory (Shape *shape,
                 guint64 start,
                 guint64 stop,
                 guint n,
                 GError **error)
{
  guint64 at = start;

  for (guint i = 0; i < n; i++)
    {
      const guint8 *entry = shape->data + at;
      guint64 size;

      if (at + ENTRY_SIZE > stop || memcmp (entry, "PK\1\2", 4) != 0)
        return refuse (shape, error, EF_ERROR_CORRUPT, "expected %u members in its directory, found %u", n, i);
      size = ENTRY_SIZE + u16 (entry + 28) + u16 (entry + 30) + u16 (entry + 32);
      if (at + size > stop)
        return refuse (shape, error, EF_ERROR_CORRUPT, "expected %u members in its directory, found %u", n, i);
      if (!check_entry (shape, entry, start, error))
        return FALSE;
      at += size;
    }
  if (at != stop || shape->end != start)
    return refuse (shape, error, EF_ERROR_PARSE, "expected nothing but its members and their directory, found hidden bytes");

  return TRUE;
}

gboolean
ef_zip_check_shape (const guint8 *data,
                    gsize length,
                    const char *name,
                    GError **error)
{
  Shape shape = { data, length, name, NULL, 0, 0 };
  const guint8 *end;
  guint64 start, size;
  guint n;
  gboolean right;

  if (length > EF_ZIP_LARGEST)
    return refuse (&shape, error, EF_ERROR_RANGE, "expected at most %u MiB, found more", (guint) (EF_ZIP_LARGEST >> 20));
  if (length < 4 || memcmp (data, "PK\3\4", 4) != 0)
    return refuse (&shape, error, EF_ERROR_PARSE, "expected a zip file with members, found something else");
  end = length >= END_SIZE ? data + length - END_SIZE : NULL;
  if (end == NULL || memcmp (end, "PK\5\6", 4) != 0 || u16 (end + 20) != 0)
    return refuse (&shape, error, EF_ERROR_CORRUPT, "the zip file is damaged or cut off, or something follows its end");
  n = u16 (end + 10);
  size = u32 (end + 12);
  start = u32 (end + 16);
  if (u16 (end + 4) != 0 || u16 (end + 6) != 0 || u16 (end + 8) != n || start + size != length - END_SIZE)
    return refuse (&shape, error, EF_ERROR_PARSE, "expected a zip file in one piece whose directory ends it, found another");
  if (n > EF_ZIP_MEMBERS_MOST)
    return refuse (&shape, error, EF_ERROR_RANGE, "expected at most %u members, found %u", EF_ZIP_MEMBERS_MOST, n);
  shape.seen = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  right = check_directory (&shape, start, start + size, n, error);
  g_hash_table_unref (shape.seen);

  return right;
}
