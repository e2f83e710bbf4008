"""A word about the backup, for pages of rooms that come before the one that makes it."""

from django import template

from shop import clock

register = template.Library()


@register.inclusion_tag("keep/_backup_word.html")
def backup_word(loud=False):
    """The last good backup: with `loud`, only when it is more than a day old; without, only when it is not."""
    from shop.keep import safety

    line = safety.backup(clock.now())
    return {"line": line if (line.state == safety.State.WRONG) == loud else None, "loud": loud}
