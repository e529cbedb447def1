from django.contrib.auth.views import LogoutView
from django.urls import path

from review.pages import cards, clips, coverage, home, lists, people, rules, selects, shelf

urlpatterns = [
    path("", home.home, name="home"),
    path("sign-in/", home.sign_in, name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("password/", home.ChangePassword.as_view(), name="password"),
    path("cards/", cards.cards, name="cards"),
    path("cards/scan/", cards.scan, name="scan"),
    path("cards/take-in/", cards.take_in, name="take-in"),
    path("cards/<int:card_id>/", cards.card, name="card"),
    path("cards/<int:card_id>/check/", cards.check, name="check-card"),
    path("cards/<int:card_id>/accept/", cards.accept, name="accept-card"),
    path("cards/<int:card_id>/copies/", cards.add_copy, name="add-copy"),
    path("copies/<int:copy_id>/prove/", shelf.prove, name="prove-copy"),
    path("copies/<int:copy_id>/forget/", shelf.forget, name="forget-copy"),
    path("shelf/", shelf.shelf_page, name="shelf"),
    path("shelf/prove/", shelf.prove_due, name="prove-due"),
    path("shelf/media/<int:medium_id>/", shelf.medium, name="medium"),
    path("shelf/media/<int:medium_id>/retire/", shelf.retire, name="retire-medium"),
    path("shelf/drives/", shelf.add_drive, name="add-drive"),
    path("shelf/drives/<int:drive_id>/remove/", shelf.remove_drive, name="remove-drive"),
    path("rules/", rules.rules_page, name="rules"),
    path("jobs/<int:job_id>/retry/", cards.retry, name="retry-job"),
    path("clips/next/", clips.next_unwatched, name="next-unwatched"),
    path("clips/<int:clip_id>/", clips.watch, name="clip"),
    path("media/<int:clip_id>/<str:name>", clips.media, name="media"),
    path("selects/", selects.selects, name="selects"),
    path("lists/", lists.lists_page, name="lists"),
    path("lists/<int:list_id>/", lists.list_page, name="list"),
    path("coverage/", coverage.coverage_page, name="coverage"),
    path("people/", people.people_page, name="people"),
    path("people/<int:membership_id>/remove/", people.remove, name="remove-member"),
    path("people/<int:membership_id>/password/", people.new_password, name="new-password"),
]
